"""A faulty scenario is refused with every fault at its line, in words that help; nothing else ever escapes."""

import os
import re
from pathlib import Path

import pytest

from finsolar.scenario import nodes
from finsolar.scenario.problems import ScenarioError
from finsolar.scenario.reading import from_text, read

BROKEN = sorted((Path(__file__).parent / "broken").glob("*.yaml"))

# File and line, then the field (the file as a whole has none), what is wrong, and how to mend it.
MESSAGE = re.compile(r"[^:\n]+\.yaml(:[1-9]\d*)?: (\S.*: )?\S.*; \S.*")


def expected(path: Path) -> list[tuple[int, str]]:
    """Return the line and the words of each fault that a broken file announces in its first lines."""
    heads = (line for line in path.read_text(encoding="utf-8").split("\n") if line.startswith("# expect: "))
    pairs = (head.removeprefix("# expect: ").split(" | ", 1) for head in heads)
    return sorted((int(line), words) for line, words in pairs)


def refusal(path: Path) -> ScenarioError:
    """Return the error that reading a file must end in."""
    with pytest.raises(ScenarioError) as caught:
        read(path)
    return caught.value


def refusal_of_text(text: str) -> ScenarioError:
    """Return the error that reading a text must end in."""
    with pytest.raises(ScenarioError) as caught:
        from_text(text, "made.yaml")
    return caught.value


def test_there_are_broken_files_and_each_says_what_it_expects() -> None:
    """The test below covers something: many files, each with at least one expectation."""
    assert len(BROKEN) > 70
    assert all(expected(path) for path in BROKEN)


@pytest.mark.parametrize("path", BROKEN, ids=lambda path: path.stem)
def test_a_broken_file_is_refused_with_its_faults_and_no_others(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Number, lines and words of the faults are as the file announces; each fills one line of a terminal."""
    monkeypatch.chdir(path.parent)
    error = refusal(Path(path.name))

    wanted = expected(path)
    messages = [str(problem) for problem in error.problems]
    assert [problem.line for problem in error.problems] == [line for line, _ in wanted], messages
    for line, words in wanted:
        assert any(f":{line}: " in message and words in message for message in messages), (words, messages)
    assert str(error).split("\n") == messages
    for message in messages:
        assert MESSAGE.fullmatch(message), message
        assert len(message) < 300
        assert all(sign.isprintable() for sign in message)


def test_a_file_of_fifty_megabytes_is_refused_unread(tmp_path: Path) -> None:
    """Size alone decides, before a byte is read."""
    path = tmp_path / "huge.yaml"
    path.touch()
    os.truncate(path, 50_000_000)

    (problem,) = refusal(path).problems

    assert problem.code == "too-large"
    assert str(problem) == f"{path}: is 50 MB; a scenario is at most 1 MB; check that this is the file you meant"


def test_a_missing_file_is_told_with_the_way_to_start_one(tmp_path: Path) -> None:
    """No line is named, since there is none."""
    (problem,) = refusal(tmp_path / "absent.yaml").problems

    assert (problem.line, problem.what) == (0, "no such file")
    assert "finsolar new FILE" in problem.mend
    assert MESSAGE.fullmatch(str(problem))


def test_a_folder_is_no_scenario(tmp_path: Path) -> None:
    """A folder is named as such."""
    (problem,) = refusal(tmp_path).problems

    assert str(problem) == f"{tmp_path}: is a folder; name the scenario file in it"


def test_a_device_is_no_scenario() -> None:
    """A device may never end, so it is not begun."""
    (problem,) = refusal(Path(os.devnull)).problems

    assert problem.what == "is no ordinary file"


@pytest.mark.parametrize(
    ("name", "what"),
    [
        ("a\0b.yaml", "is no name that a file can have"),
        ("x" * 5000, "cannot be read"),
        ("file.yaml/below.yaml", "cannot be read"),
    ],
    ids=["null sign", "endless", "below a file"],
)
def test_an_impossible_name_is_told_so(tmp_path: Path, name: str, what: str) -> None:
    """Names that no file can have are refused like any other fault."""
    (tmp_path / "file.yaml").write_text("title: x\n")

    (problem,) = refusal(tmp_path / name).problems

    assert problem.what.startswith(what)
    assert "\0" not in str(problem)


@pytest.mark.parametrize(
    ("content", "what"),
    [
        (b"\x89PNG\r\n\x1a\n\x00\xff", "is not text in UTF-8"),
        ("title: Höfe".encode("utf-16"), "is not text in UTF-8"),
        ("title: Höfe".encode("latin-1"), "is not text in UTF-8"),
        (b"PK\x03\x04\x00\x00", "holds a sign that YAML does not allow"),
    ],
    ids=["picture", "UTF-16", "Latin-1", "archive"],
)
def test_a_file_that_is_no_text_is_told_so(tmp_path: Path, content: bytes, what: str) -> None:
    """Pictures, archives and other encodings are refused without a traceback."""
    path = tmp_path / "binary.yaml"
    path.write_bytes(content)

    (problem,) = refusal(path).problems

    assert problem.what == what


def test_a_file_without_permission_is_told_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The system's refusal is passed on; a user whom no permission stops is made to meet it."""
    path = tmp_path / "locked.yaml"
    path.write_text("title: x\n")
    path.chmod(0)
    if os.access(path, os.R_OK):

        def denied(self: Path) -> bytes:
            raise PermissionError(13, "Permission denied", str(self))

        monkeypatch.setattr(Path, "read_bytes", denied)

    (problem,) = refusal(path).problems

    assert str(problem) == f"{path}: cannot be read (Permission denied); check the file and its permissions"


@pytest.mark.parametrize("opening", ["[", "{", "- ", "? ", "[{", "a: ["], ids=repr)
def test_ten_thousand_levels_do_not_exhaust_the_stack(opening: str) -> None:
    """Depth is measured while reading, so that no recursion meets it."""
    (problem,) = refusal_of_text(opening * 10_000).problems

    assert problem.code in {"too-deep", "not-yaml"}
    assert problem.line == 1


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("costs: [" + "1, " * 1000 + "]", 1),
        ("".join(f"k{i}: 1\n" for i in range(1000)), 500),
        ("a: &a [1]\nb: [" + "*a, " * 1000 + "]", 2),
    ],
    ids=["list", "fields", "aliases"],
)
def test_endless_lists_are_cut_short(text: str, line: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """More values than any scenario holds stop the reading at the line where they become too many."""
    monkeypatch.setattr(nodes, "MOST_NODES", 1000)

    (problem,) = refusal_of_text(text).problems

    assert (problem.code, problem.line) == ("too-large", line)


def test_a_thousand_faults_are_told_in_one_pass() -> None:
    """No fault hides another: a thousand bad cost lines give a thousand messages, in the order of lines."""
    lines = "".join(f"  - {{item: n{i}, category: other, cost: -1}}\n" for i in range(1000))

    found = refusal_of_text("costs:\n" + lines).problems

    negative = [problem.line for problem in found if problem.code == "negative"]
    assert negative == list(range(2, 1002))
