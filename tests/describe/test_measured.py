"""Measured times come from a file in the cell's own folder, of bounded size, in a stated unit."""

import os

import pytest
from counted import little_work

from cellsim.describe.cell import Law
from cellsim.describe.resolve import load, load_text, resolved_text
from cellsim.errors import DescriptionError


@pytest.fixture
def folder(tmp_path):
    """A folder with a cell inside another folder."""
    (tmp_path / "cell").mkdir()
    return tmp_path / "cell"


def loaded(folder, keys, *files):
    """The cell whose only station has its times from a file."""
    for name, content in files:
        path = folder / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
    (folder / "cell.yaml").write_text(f"cell: x\nroute: [a]\nstations: {{a: {{cycle: {{{keys}}}}}}}\n")
    return load(folder / "cell.yaml")


def times(folder, keys, content):
    """The measured times in microseconds."""
    return loaded(folder, keys, ("t.csv", content)).stations[0].work[0].time


def refusal(folder, keys, *files):
    """The text with which the cell is refused, without much work."""
    with little_work(), pytest.raises(DescriptionError) as caught:
        loaded(folder, keys, *files)
    return str(caught.value).removeprefix("cell.yaml:3:23: stations.a.cycle: ")


@pytest.mark.parametrize(
    ("keys", "content"),
    [
        ("measured: t.csv", "seconds\n1.5\n2\n"),
        ("measured: t.csv", "\ufeffseconds\r\n1.5\r\n\r\n2\r\n"),
        ("measured: t.csv, column: cycle", "nr,cycle\n1,1.5\n2,2\n"),
        ("measured: t.csv, column: 'time [s]'", "nr;time [s]\n1;1,5\n2;2\n"),
        ("measured: t.csv, column: time_ms", "time_ms\tnr\n1500\t1\n2000\t2\n"),
        ("measured: t.csv, column: t", '"t","note"\n"1.5","a, b"\n2,\n'),
        ("law: measured, measured: t.csv", "cycle (min)\n0.025\n2e0\n"),
    ],
)
def test_forms_of_files(folder, keys, content):
    """Comma, semicolon or tab between cells; a decimal comma with the latter two; units by the heading."""
    if "column: cycle" in keys or keys[-9:] == "column: t":
        keys += ", unit: s"
    found = times(folder, keys, content)
    second = 120_000_000 if "min" in content else 2_000_000
    assert found == Law("measured", (), (1_500_000, second))


def test_the_resolved_form_needs_no_file(folder):
    """The resolved form holds the times themselves, in order."""
    found = loaded(folder, "measured: t.csv", ("t.csv", "seconds\n1.5\n2\n1.5\n"))
    assert "{law: measured, measured: [1.5 s, 2 s, 1.5 s]}" in resolved_text(found)
    assert load_text(resolved_text(found)) == found


def test_a_cell_with_the_most_measured_times_stays_legal(folder):
    """With 20 000 times, the most there may be, the resolved form is a legal file; one more is refused."""
    rows = "".join(f"{100 + i / 7:.6f}\n" for i in range(20_000))
    found = loaded(folder, "measured: t.csv", ("t.csv", "seconds\n" + rows))
    assert load_text(resolved_text(found)) == found
    said = refusal(folder, "measured: t.csv", ("t.csv", "seconds\n" + rows + "1\n"))
    assert said == '"t.csv" holds 20001 times; at most 20000 are used, take a sample'


def test_measured_times_are_counted_over_the_whole_cell(folder):
    """Two files of 11 000 times each are too many for one cell."""
    (folder / "t.csv").write_text("seconds\n" + "1\n" * 11_000)
    stations = "{a: {cycle: {measured: t.csv}}, b: {cycle: {measured: t.csv}}}"
    (folder / "cell.yaml").write_text(f"cell: x\nroute: [a, b]\nstations: {stations}\n")
    with pytest.raises(
        DescriptionError, match="a cell holds at most 20000 measured times in all; take samples"
    ):
        load(folder / "cell.yaml")


@pytest.mark.parametrize(
    ("keys", "content", "said"),
    [
        ("measured: t.csv", "a,b\n1,2\n", '"t.csv" has 2 columns; name one: column: a'),
        ("measured: t.csv, column: secnds", "nr,seconds\n1,2\n",
         '"t.csv" has no column "secnds"; did you mean "seconds"?'),
        ("measured: t.csv", "cycle\n1\n", 'the heading "cycle" of "t.csv" says no unit; add unit: s'),
        ("measured: t.csv, unit: min", "seconds\n1\n",
         'the heading "seconds" of "t.csv" says s, but unit says min'),
        ("measured: t.csv", "seconds\n1\n-3\n", '"t.csv" line 3: "-3" is not between 0 s and 100 years'),
        ("measured: t.csv", "seconds\n1\nfast\n", '"t.csv" line 3: "fast" is not a number'),
        ("measured: t.csv, column: seconds", "seconds,nr\n1,1\n,2\n",
         '"t.csv" line 3: there is no time in column "seconds"'),
        ("measured: t.csv", "seconds\n", '"t.csv" holds no times'),
        ("measured: t.csv", "", '"t.csv" is empty; its first line is a heading such as seconds'),
        ("measured: t.csv", b"seconds\n\xff\n", '"t.csv" is not UTF-8; save it as UTF-8'),
        ("measured: t.csv", b"\x00" * 100, None),
        ("measured: t.csv", b"s" * 5_000_001, '"t.csv" has 5000001 bytes; at most 5000000 are read'),
        ("measured: t.csv", 'seconds\n"1\n', '"t.csv" cannot be read as a table (unexpected end of data)'),
    ],
)  # fmt: skip
def test_files_that_cannot_be_used(folder, keys, content, said):
    """A file that holds no usable times is refused with the file, the line and the reason."""
    found = refusal(folder, keys, ("t.csv", content))
    assert found == said if said else found.startswith('"t.csv" ') or "t.csv" in found


@pytest.mark.parametrize(
    "name", ["../t.csv", "/etc/passwd", "sub/../../t.csv", "..\\t.csv", "C:\\t.csv", "\\\\host\\t.csv"]
)
def test_no_path_leaves_the_folder(folder, name):
    """Absolute paths, drives and steps upwards are refused by their form, whether or not the file exists."""
    (folder.parent / "t.csv").write_text("seconds\n1\n")
    found = refusal(folder, f"measured: '{name}'")
    assert found == f'"{name}" lies outside the folder of the cell file; only files in it are read'


def test_a_link_that_leaves_the_folder(folder):
    """A symbolic link inside the folder does not lead out of it; one that stays inside is followed."""
    (folder.parent / "secret.csv").write_text("seconds\n1\n")
    os.symlink(folder.parent / "secret.csv", folder / "link.csv")
    assert refusal(folder, "measured: link.csv") == (
        '"link.csv" leads outside the folder of the cell file; only files in it are read'
    )
    (folder / "own.csv").write_text("seconds\n7\n")
    os.symlink("own.csv", folder / "inner.csv")
    assert loaded(folder, "measured: inner.csv").stations[0].work[0].time.measured == (7_000_000,)


def test_what_is_no_file(folder):
    """A folder, a pipe, a loop of links and a missing file are refused; a pipe would wait for ever."""
    (folder / "d.csv").mkdir()
    os.mkfifo(folder / "p.csv")
    os.symlink("loop.csv", folder / "loop.csv")
    assert refusal(folder, "measured: d.csv") == '"d.csv" is not a file'
    assert refusal(folder, "measured: p.csv") == '"p.csv" is not a file'
    assert refusal(folder, "measured: loop.csv").startswith('"loop.csv" cannot be read (')
    assert refusal(folder, "measured: no.csv") == '"no.csv" cannot be read (No such file or directory)'


def test_a_text_without_a_folder_reads_no_file():
    """A description that is not a file names no files."""
    with pytest.raises(DescriptionError, match="this text has no folder; give the times as a list"):
        load_text("cell: x\nroute: [a]\nstations: {a: {cycle: {measured: t.csv}}}\n")
