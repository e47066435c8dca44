"""What was found sound: remembered from run to run, never at the cost of a run, and bounded."""

from __future__ import annotations

import subprocess
import sys
import zlib
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise
from pathlib import Path

import pytest

from cropmove.stills.sound import Register, mark_of, usual_register


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "cache" / "sound.txt"


def marks(count: int, first: int = 1) -> list[bytes]:
    return [mark_of(b"%d" % number) for number in range(first, first + count)]


def test_a_content_is_known_by_its_size_and_its_check() -> None:
    content = bytes(range(256)) * 3
    assert mark_of(content) == f"768 {zlib.crc32(content):08x}\n".encode()
    changed = bytearray(content)
    changed[400] ^= 1
    assert mark_of(bytes(changed)) != mark_of(content)


def test_what_was_added_is_known_in_the_next_run(file: Path) -> None:
    one, other = marks(2)
    register = Register(file)
    assert not register.has(one)
    register.add(one)
    register.add(one)
    assert register.has(one)
    assert file.read_bytes() == one
    later = Register(file)
    assert later.has(one)
    assert not later.has(other)


def test_the_users_own_is_in_their_folder_for_what_can_be_made_again(own_cache: Path) -> None:
    (mark,) = marks(1)
    usual_register().add(mark)
    assert [path.read_bytes() for path in own_cache.iterdir()] == [mark]
    assert usual_register().has(mark)


@pytest.mark.parametrize("damage", [
    b"\0" * 512, b"12", b"12 0", b"\xff\xfe words\n", b"9 cbf4\n3926\n", b"-9 cbf43926\n",
])  # fmt: skip
def test_damaged_lines_are_passed_over(damage: bytes, file: Path) -> None:
    before, lost, after = marks(3)
    file.parent.mkdir()
    # A line that was not written to its end takes the next one with it, and no more than that.
    file.write_bytes(before + damage + lost + after)
    register = Register(file)
    assert register.has(before)
    assert register.has(after)
    assert not register.has(mark_of(b"123456789"))


def test_a_line_that_was_cut_off_makes_no_other_content_known(file: Path) -> None:
    (mark,) = marks(1)
    file.parent.mkdir()
    file.write_bytes(mark[:-3])
    assert not Register(file).has(mark)


@pytest.mark.parametrize("in_the_way", ["the folder", "the file"])
def test_it_is_no_error_that_it_cannot_be_read_or_written(in_the_way: str, file: Path) -> None:
    if in_the_way == "the folder":
        file.parent.write_bytes(b"")
    else:
        file.mkdir(parents=True)
    (mark,) = marks(1)
    register = Register(file)
    assert not register.has(mark)
    register.add(mark)
    assert register.has(mark)  # in this run at least
    assert not Register(file).has(mark)


def test_it_stays_bounded_and_keeps_the_newest(file: Path) -> None:
    room = 1000
    register = Register(file, room)
    all_marks = marks(300)
    sizes = []
    for mark in all_marks:
        register.add(mark)
        sizes.append(file.stat().st_size)
    assert max(sizes) <= room
    begun_anew = [after for before, after in pairwise(sizes) if after < before]
    assert max(begun_anew) <= room // 2  # and so not at every mark that is added
    later = Register(file, room)
    known = [later.has(mark) for mark in all_marks]
    count = sum(known)
    assert known[-count:] == [True] * count
    assert count * len(all_marks[-1]) >= room // 2 - 2 * len(all_marks[-1])
    assert [path.name for path in file.parent.iterdir()] == [file.name]


def test_of_a_file_that_is_far_too_large_no_more_is_read_than_has_room(file: Path) -> None:
    first, last, new = marks(3)
    file.parent.mkdir()
    # What is left of a line whose beginning is not read, "9 cbf43926", is no content's mark.
    file.write_bytes(first + b"x" * 4989 + b"9 cbf43926\n" + last)
    register = Register(file, len(last) + len(b"9 cbf43926\n"))
    assert register.has(last)
    assert not register.has(first)
    assert not register.has(mark_of(b"123456789"))
    register.add(new)
    assert file.stat().st_size < 100


def test_threads_may_use_one_at_once(file: Path) -> None:
    register = Register(file)
    all_marks = marks(200)
    with ThreadPoolExecutor(8) as pool:
        list(pool.map(register.add, all_marks * 2))
    assert sorted(file.read_bytes().splitlines(keepends=True)) == sorted(all_marks)


def test_processes_may_use_one_file_at_once(file: Path) -> None:
    code = """
import sys
from itertools import pairwise
from pathlib import Path
from cropmove.stills.sound import Register, mark_of
register = Register(Path(sys.argv[1]))
for number in range(int(sys.argv[2]), int(sys.argv[2]) + 300):
    register.add(mark_of(b"%d" % number))
"""
    running = [
        subprocess.Popen([sys.executable, "-c", code, str(file), str(first)])
        for first in (1, 301, 601)
    ]
    assert [process.wait(timeout=60) for process in running] == [0, 0, 0]
    later = Register(file)
    assert all(later.has(mark) for mark in marks(900))
