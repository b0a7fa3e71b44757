"""Lines of keys, for every way TOML has of writing them."""

import tomllib

from sim.scenario.toml_lines import key_lines

TEXT = '''\
title = "a # no comment"   # a comment with [brackets] and "quotes"
site.latitude = "47 deg"

[vehicle]  # [not.this]
length = "1 m"
"quoted key" = 1
'single' = 2
cg = { value = "1 m", believed = "2 m" }
deep . dotted . key = 3
story = """
[fake]
key = 1
"""
raw = \'\'\'
x = "
\'\'\'
escaped = "a \\" b"
after = 1

[[correlated]]
numbers = [
  "a.b",  # the first
  "c.d",
]
correlation = 0.5
[[correlated]]
numbers = ["e.f", "g.h"]
[correlated.inner]
x = 1
[inertial.gyro]
bias = {x = "0", y = {uniform = ["0", "1"]}}
rows = [[0, 1],
 [2, 3]]
tables = [
  {a = 1},
  {a = 2},
]
'''


def flatten(value, path=()):
    yield path
    if isinstance(value, dict):
        for key, item in value.items():
            yield from flatten(item, (*path, key))
    elif isinstance(value, list) and not any(isinstance(x, (int, float)) for x in value):
        for index, item in enumerate(value):
            yield from flatten(item, (*path, index))


def line(needle):
    return next(n for n, text in enumerate(TEXT.splitlines(), 1) if needle in text)


def test_key_lines__finds_every_key_that_the_reader_finds():
    lines = key_lines(TEXT)
    wanted = {path for path in flatten(tomllib.loads(TEXT)) if path and "rows" not in path}
    assert wanted <= set(lines)


def test_key_lines__finds_no_key_that_is_not_there():
    assert not [p for p in key_lines(TEXT) if p[0] in ("fake", "not", "key")]


def test_key_lines__says_the_right_line():
    lines = key_lines(TEXT)
    assert lines["title",] == 1
    assert lines["site", "latitude"] == 2
    assert lines["vehicle",] == line("[vehicle]")
    assert lines["vehicle", "quoted key"] == line('"quoted key"')
    assert lines["vehicle", "cg", "believed"] == line("believed")
    assert lines["vehicle", "deep", "dotted", "key"] == line("dotted")
    assert lines["vehicle", "story"] == line("story")
    assert lines["vehicle", "escaped"] == line("escaped")
    assert lines["vehicle", "after"] == line("after")
    assert lines["correlated", 0, "numbers", 1] == line('"c.d"')
    assert lines["correlated", 0, "correlation"] == line("correlation = 0.5")
    assert lines["correlated", 1, "numbers"] == line('"e.f"')
    assert lines["correlated", 1, "inner", "x"] == line("x = 1")
    assert lines["inertial", "gyro", "bias", "y", "uniform"] == line("bias")
    assert lines["inertial", "gyro", "tables", 1, "a"] == line("{a = 2}")


def test_key_lines__of_nothing_is_nothing():
    assert key_lines("") == {}
    assert key_lines("# only a comment") == {}


def test_key_lines__comes_to_an_end_whatever_it_reads():
    # it is meant for valid text, but must not hang on any other
    for text in ("=", "[", "[[", "a", "a = {", 'a = "', "a = [1, {b", "}", "a.b.= 3", "]"):
        key_lines(text)
