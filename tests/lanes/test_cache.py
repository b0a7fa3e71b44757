"""Stored kernels: what changes the key, what a second process finds, what a full disk does."""

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from sim.lanes import cache, cache_is_warm

CALLEE = """
from sim.lanes import exp, room

@room
def grow(x):
    return 2.0 * exp(x)
"""
KERNEL = """
from sim.lanes import kernel, load, store
from sim.physics.growth import grow

@kernel
def fly(lanes, x, out):
    for row in range(len(x)):
        store(out, row, grow(load(lanes, x, row)))
"""
PROCESS = """
import sys
import numpy as np
from sim.flight_small import fly
from sim.lanes import cache_is_warm, lane_types

warm = cache_is_warm("fly", int(sys.argv[1]))
for width in map(int, sys.argv[1:]):
    out = np.empty((1, width))
    fly(lane_types(width), np.zeros((1, width)), out)
print(warm, fly.loaded, fly.compiled, "numba" in sys.modules, set(out.ravel().tolist()))
"""


@pytest.fixture
def tree(tmp_path):
    """A package with this folder's sources, one kernel, and a callee in another file."""
    root = tmp_path / "tree" / "sim"
    shutil.copytree(cache.ROOT / "lanes", root / "lanes")
    for name, text in (
        ("__init__.py", ""), ("physics/__init__.py", ""), ("avionics/__init__.py", ""),
        ("physics/growth.py", CALLEE), ("flight_small.py", KERNEL), ("report/__init__.py", ""),
    ):  # fmt: skip
        (root / name).parent.mkdir(exist_ok=True)
        (root / name).write_text(text)
    return root


@pytest.fixture
def home(tmp_path, monkeypatch):
    """A cache folder and a temporary folder of its own."""
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "chosen"))
    (tmp_path / "temporary").mkdir()
    monkeypatch.setattr(cache.tempfile, "tempdir", str(tmp_path / "temporary"))
    return tmp_path


def start(tree, *widths):
    environment = {
        **os.environ,
        "PYTHONPATH": str(tree.parent),
        "NUMBA_CACHE_DIR": str(tree.parent / "cache"),
        "NUMBA_DISABLE_JIT": "0",
    }
    command = [sys.executable, "-c", PROCESS, *map(str, widths)]
    return subprocess.Popen(command, env=environment, cwd=tree.parent, stdout=subprocess.PIPE)


def said(process):
    output = process.communicate()[0].decode().split(None, 4)
    assert process.returncode == 0
    warm, loaded, compiled, numba, values = output
    assert (numba == "True") == (int(compiled) > 0)  # which takes a second to import
    return warm == "True", int(loaded), int(compiled), values.strip()


def test_kernel__next_process_loads_it_until_a_callee_is_edited(tree):
    # two that start at once, each with a width of its own: a shared index could mix them up
    together = [start(tree, 1), start(tree, 4)]
    assert [said(process) for process in together] == [(False, 0, 1, "{2.0}")] * 2
    assert said(start(tree, 1, 4)) == (True, 2, 0, "{2.0}")

    damaged = next((tree.parent / "cache" / "setdown").rglob("fly-lanes4-*.kernel"))
    damaged.write_bytes(damaged.read_bytes()[:-1])  # as a full disk leaves it
    assert said(start(tree, 1, 4)) == (True, 1, 1, "{2.0}")

    (tree / "physics" / "growth.py").write_text(CALLEE.replace("2.0", "3.0"))
    assert said(start(tree, 4)) == (False, 0, 1, "{3.0}")
    folders = sorted((tree.parent / "cache" / "setdown").iterdir())
    assert [len(list(folder.iterdir())) for folder in folders] in ([1, 2], [2, 1])


@pytest.mark.parametrize(
    "name", ["lanes/exact.py", "physics/growth.py", "avionics/__init__.py", "flight_small.py"]
)
def test_make_key__an_edit_of_any_callee_changes_it(tree, name):
    before = cache.make_key(tree)
    assert cache.make_key(tree) == before
    path = tree / name
    path.write_text(path.read_text() + "\n")
    assert cache.make_key(tree) != before


def test_make_key__names_count_and_other_rooms_do_not(tree):
    before = cache.make_key(tree)
    (tree / "report" / "page.py").write_text("other = 1")
    assert cache.make_key(tree) == before
    (tree / "physics" / "growth.py").rename(tree / "physics" / "growing.py")
    assert cache.make_key(tree) != before


def test_make_key__machine_settings_count(tree, monkeypatch):
    before = cache.make_key(tree)
    monkeypatch.setenv("NUMBA_CPU_NAME", "generic")
    assert cache.make_key(tree) != before
    assert len(before) == 16
    assert int(before, 16) >= 0


def test_is_watched__covers_what_the_key_is_made_of(tree):
    assert {path.name for path in cache.sources(tree)} >= {"flight_small.py", "growth.py"}
    assert all(cache.is_watched(path, tree) for path in cache.sources(tree))
    assert not cache.is_watched(tree / "report" / "__init__.py", tree)
    assert not cache.is_watched(__file__)


def test_is_watched__covers_every_file_that_the_flight_kernel_imports():
    code = (
        "import sys, sim.flight\n"
        "print(*[module.__file__ for name, module in sys.modules.items() if name[:4] == 'sim.'])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = done.stdout.split()
    assert any("touchdown" in path for path in loaded)
    assert [path for path in loaded if not cache.is_watched(path)] == []


def test_base_folder__where_caches_belong(monkeypatch, tmp_path):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    assert cache.base_folder() == tmp_path / "setdown"
    monkeypatch.delenv("NUMBA_CACHE_DIR")
    monkeypatch.setattr(cache.sys, "platform", "linux")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "xdg"))
    assert cache.base_folder() == tmp_path / "xdg" / "setdown"
    monkeypatch.setenv("XDG_CACHE_HOME", "relative")  # which the standard says to ignore
    assert cache.base_folder() == Path.home() / ".cache" / "setdown"
    monkeypatch.setattr(cache.sys, "platform", "darwin")
    assert cache.base_folder() == Path.home() / "Library" / "Caches" / "setdown"
    monkeypatch.setattr(cache.sys, "platform", "win32")
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "local"))
    assert cache.base_folder() == tmp_path / "local" / "setdown"


def test_write__then_read(home):
    assert cache.read("fly-lanes8-0") is None
    assert not cache_is_warm()
    folder = cache.write("fly-lanes8-0", b"code")
    assert folder == home / "chosen" / "setdown" / cache.key()
    assert cache.read("fly-lanes8-0") == b"code"
    assert [path.name for path in folder.iterdir()] == ["fly-lanes8-0.kernel"]
    assert cache_is_warm()
    assert cache_is_warm("fly", 8)
    assert not cache_is_warm("fly", 4)
    assert not cache_is_warm("settle")


def test_write__a_folder_that_cannot_be_made_is_replaced_by_a_private_one(home):
    (home / "chosen").write_text("a file where the folder should be")
    folder = cache.write("fly-lanes8-0", b"code")
    assert folder.is_relative_to(home / "temporary")
    assert folder.parent.stat().st_mode & 0o077 == 0
    assert cache.read("fly-lanes8-0") == b"code"
    assert cache_is_warm("fly")


@pytest.mark.skipif(sys.platform == "win32", reason="folders have owners and modes elsewhere")
def test_read__a_temporary_folder_open_to_others_is_not_trusted(home):
    (home / "chosen").write_text("")
    folder = cache.write("fly-lanes8-0", b"code")
    folder.parent.chmod(0o777)
    assert cache.read("fly-lanes8-0") is None
    assert cache.write("fly-lanes8-0", b"code") is None


def test_write__nowhere_is_no_error(home):
    (home / "chosen").write_text("")
    (home / "temporary").rmdir()
    (home / "temporary").write_text("")
    assert cache.write("fly-lanes8-0", b"code") is None
    assert cache.read("fly-lanes8-0") is None
    assert not cache_is_warm()


def test_remove_old_folders__only_keyed_ones_long_unused(home):
    base = home / "chosen" / "setdown"
    names = ("0123456789abcdef", "0123456789abcde0", "0123456789abcde1", "somebody's things")
    for name in names:
        (base / name).mkdir(parents=True)
        (base / name / "fly.kernel").write_bytes(b"code")
    old = time.time() - 31 * 86400
    for name in (names[0], names[2], names[3]):
        os.utime(base / name, (old, old))
    assert cache.remove_old_folders(base, keep=names[2]) == [names[0]]
    assert sorted(path.name for path in base.iterdir()) == sorted(names[1:])
    assert cache.remove_old_folders(home / "absent", keep="") == []


def test_read__marks_a_folder_as_used_once_a_day(home):
    folder = cache.write("fly-lanes8-0", b"code")
    for age, renewed in ((2 * 86400.0, True), (3600.0, False)):
        then = time.time() - age
        os.utime(folder, (then, then))
        cache.read("fly-lanes8-0")
        assert (folder.stat().st_mtime > then + 1.0) == renewed
