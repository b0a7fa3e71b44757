"""What two machines compare before they share a run."""

import shutil
from dataclasses import replace

from sim.ensemble.program import ROOMS, ROOT, source_hash, this_program


def copied(folder):
    for room in ROOMS:
        shutil.copytree(ROOT / room, folder / room, ignore=shutil.ignore_patterns("__pycache__"))
    for file in ROOT.glob("*.py"):
        shutil.copy(file, folder)
    return folder


def test_source_hash__any_source_of_the_numbers_changes_it(tmp_path):
    copies = [copied(tmp_path / name) for name in "abcd"]
    (copies[1] / "ensemble" / "draws.py").write_text("# other draws\n")
    (copies[2] / "errors.py").unlink()
    edited = copies[3] / "flight.py"
    edited.write_bytes(edited.read_bytes().replace(b"\n", b"\r\n"))
    original, draws, missing, line_ends = map(source_hash, copies)
    assert len({original, draws, missing}) == 3
    assert line_ends == original == source_hash()


def test_program__differences_name_what_differs():
    here = this_program()
    assert here.differences(replace(here, machine="another")) == []
    libraries = (*here.libraries[:-1], (here.libraries[-1][0], "0.1"))
    other = replace(here, sources="0" * 16, libraries=libraries)
    first, second = here.differences(other)
    assert "another setdown" in first
    assert second == f"{here.libraries[-1][0]} 0.1, here {here.libraries[-1][1]}"
