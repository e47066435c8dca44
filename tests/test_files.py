"""Files written whole or not at all."""

from __future__ import annotations

import errno
import os
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from cropmove.errors import InputError, MachineError
from cropmove.files import make_folder, place_new, speaking_plainly, write_whole, writing_whole


def test_a_file_is_written_whole(tmp_path: Path) -> None:
    write_whole(tmp_path / "a.bin", b"first")
    write_whole(tmp_path / "a.bin", b"second")
    assert (tmp_path / "a.bin").read_bytes() == b"second"
    assert os.listdir(tmp_path) == ["a.bin"]


def test_what_goes_wrong_before_the_name_is_given_leaves_the_old_file(tmp_path: Path) -> None:
    file = tmp_path / "a.bin"
    file.write_bytes(b"old")

    def fail(_: Path) -> None:
        raise OSError(errno.ENOSPC, "no space left")

    with pytest.raises(MachineError) as refused:
        write_whole(file, b"new", before=fail)
    assert file.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["a.bin"]
    assert "free some room" in refused.value.complaints[0].remedy


def test_an_interruption_leaves_nothing_half_written(tmp_path: Path) -> None:
    def interrupt(_: Path) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_whole(tmp_path / "a.bin", b"new", before=interrupt)
    assert os.listdir(tmp_path) == []


def test_the_finished_file_is_shown_before_it_gets_its_name(tmp_path: Path) -> None:
    shown = []
    file = tmp_path / "a.bin"
    write_whole(
        file, b"12345", before=lambda part: shown.append((part.read_bytes(), file.exists()))
    )
    assert shown == [(b"12345", False)]


def test_a_writer_of_its_own_gets_a_temporary_name_beside_the_file(tmp_path: Path) -> None:
    file = tmp_path / "a.bin"
    with writing_whole(file) as part:
        part.write_bytes(b"whole")
        assert part.parent == tmp_path
        assert not file.exists()
    assert file.read_bytes() == b"whole"
    with pytest.raises(ValueError, match="stop"), writing_whole(file) as part:  # noqa: PT012
        part.write_bytes(b"half")
        raise ValueError("stop")
    assert file.read_bytes() == b"whole"
    assert os.listdir(tmp_path) == ["a.bin"]


def test_a_file_that_is_there_is_not_written_over_unasked(tmp_path: Path) -> None:
    file = tmp_path / "quay.toml"
    place_new(file, b"mine")
    with pytest.raises(InputError) as refused:
        place_new(file, b"theirs")
    assert file.read_bytes() == b"mine"
    assert refused.value.complaints[0].where == str(file)
    place_new(file, b"theirs", overwrite=True)
    assert file.read_bytes() == b"theirs"


def test_a_new_file_gets_its_folder(tmp_path: Path) -> None:
    place_new(tmp_path / "a" / "b" / "quay.toml", b"x")
    assert (tmp_path / "a" / "b" / "quay.toml").read_bytes() == b"x"


@pytest.mark.parametrize("do", [make_folder, lambda path: write_whole(path, b"x")])
def test_a_path_through_a_file_is_told_plainly(tmp_path: Path, do: object) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(MachineError, match="the machine refused"):
        do(tmp_path / "file" / "below")


@pytest.mark.parametrize("below", ["", "below"])
@pytest.mark.parametrize("target", ["unplugged", "link"])
def test_a_link_that_leads_nowhere_is_told_plainly(tmp_path: Path, below: str, target: str) -> None:
    (tmp_path / "link").symlink_to(tmp_path / target)
    with pytest.raises(MachineError, match="what it leads to is not there") as refused:
        make_folder(tmp_path / "link" / below)
    assert refused.value.complaints[0].where == str(tmp_path / "link")
    assert "plug in the disk" in refused.value.complaints[0].remedy


def test_a_folder_in_the_way_is_told_plainly(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "quay.toml").mkdir()
    monkeypatch.chdir(tmp_path)
    for path in (tmp_path / "quay.toml", Path(), Path("..")):
        for overwrite in (False, True):
            with pytest.raises(InputError, match="there is a folder of that name"):
                place_new(path, b"x", overwrite=overwrite)
    assert os.listdir(tmp_path) == ["quay.toml"]


@pytest.mark.parametrize(
    ("number", "word"),
    [(errno.ENOSPC, "free some room"), (errno.EROFS, "read-only"), (errno.EACCES, "right to write"),
     (errno.EDQUOT, "quota"), (errno.ENAMETOOLONG, "shorter"), (errno.EIO, "check the path"),
     (errno.EEXIST, "a file has that name")],
)  # fmt: skip
def test_what_the_system_says_has_a_remedy(number: int, word: str) -> None:
    with pytest.raises(MachineError) as refused, speaking_plainly(Path("out/a.png")):
        raise OSError(number, os.strerror(number))
    (complaint,) = refused.value.complaints
    assert complaint.where == "out/a.png"
    assert os.strerror(number) in complaint.rule
    assert word in complaint.remedy


def test_a_name_that_is_too_long_is_told_plainly(tmp_path: Path) -> None:
    with pytest.raises(MachineError, match="shorter name"):
        write_whole(tmp_path / ("n" * 300), b"x")
    with pytest.raises(MachineError, match="shorter name"):
        place_new(tmp_path / ("n" * 300), b"x")


def test_what_is_no_refusal_of_the_system_passes() -> None:
    with pytest.raises(ValueError, match="a bug"), speaking_plainly(Path("a")):
        raise ValueError("a bug")


def test_two_threads_that_write_the_same_file_do_not_meet(tmp_path: Path) -> None:
    file = tmp_path / "a.bin"
    with writing_whole(file) as part:
        part.write_bytes(b"half")
        with ThreadPoolExecutor(1) as other:
            other.submit(write_whole, file, b"the other's").result()
        assert file.read_bytes() == b"the other's"
        assert part.read_bytes() == b"half"
    assert file.read_bytes() == b"half"
    assert os.listdir(tmp_path) == ["a.bin"]
