from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropmove.errors import InputError
from cropmove.stills.find import StillRef, find_stills, missing_numbers
from cropmove.stills.natural import natural_key, running_numbers


@pytest.fixture
def harbour(tmp_path: Path) -> Path:
    """A shot's folder: twelve stills, and what else gathers beside them."""
    folder = tmp_path / "harbour"
    folder.mkdir()
    for number in range(1, 13):
        (folder / f"shot_{number}.JPG").write_bytes(b"\xff\xd8\xff")
    for other in (".hidden.jpg", "shot_1.xmp", "notes.txt", "preview.mp4"):
        (folder / other).write_bytes(b"x")
    return tmp_path


def names(stills: tuple[StillRef, ...]) -> list[str]:
    return [still.name for still in stills]


def refusal(source: str, folder: Path) -> str:
    with pytest.raises(InputError) as caught:
        find_stills(source, folder)
    assert len(caught.value.complaints) == 1
    return str(caught.value)


IN_ORDER = [f"shot_{n}.JPG" for n in range(1, 13)]


@pytest.mark.parametrize(
    "source",
    ["harbour", "harbour/", "harbour/*.JPG", "harbour/shot_*", "har*/*.JPG", "harbour/shot_#.JPG",
     "harbour/shot_%d.JPG"],
)  # fmt: skip
def test_every_way_of_naming_a_series_finds_it_in_natural_order(source: str, harbour: Path) -> None:
    assert names(find_stills(source, harbour)) == IN_ORDER


@pytest.mark.parametrize("listed", [("a_1.jpg", "a_01.jpg"), ("a_01.jpg", "a_1.jpg")])
def test_stills_of_one_number_come_in_the_order_of_their_names(
    listed: tuple[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whichever of them the disk lists first."""
    for name in listed:
        (tmp_path / name).write_bytes(b"\xff\xd8\xff")
    monkeypatch.setattr(Path, "iterdir", lambda self: iter([self / name for name in listed]))
    assert names(find_stills("a_%d.jpg", tmp_path)) == ["a_01.jpg", "a_1.jpg"]


def test_numbers_are_the_running_ones(harbour: Path) -> None:
    assert [still.number for still in find_stills("harbour", harbour)] == list(range(1, 13))


def test_an_absolute_glob_and_folder_work(harbour: Path) -> None:
    for source in (harbour / "harbour", harbour / "harbour" / "*.JPG"):
        assert names(find_stills(str(source), Path("elsewhere"))) == IN_ORDER


@pytest.mark.parametrize(("pattern", "found"), [
    ("s_##.png", ["s_10.png", "s_123.png"]),
    ("s_%02d.png", ["s_10.png", "s_123.png"]),
    ("s_%04d.png", ["s_0007.png"]),
    ("s_####.png", ["s_0007.png"]),
])  # fmt: skip
def test_a_counter_is_at_least_as_wide_as_it_is_written(
    pattern: str, found: list[str], tmp_path: Path
) -> None:
    for name in ("s_9.png", "s_10.png", "s_123.png"):
        (tmp_path / name).write_bytes(b"x")
    if "s_0007.png" in found:
        (tmp_path / "s_0007.png").write_bytes(b"x")
    assert names(find_stills(pattern, tmp_path)) == found


def test_one_still_is_a_series_of_one(harbour: Path) -> None:
    (still,) = find_stills("harbour/shot_3.JPG", harbour)
    assert still.path == harbour / "harbour" / "shot_3.JPG"
    assert still.index == 0


def test_a_name_with_brackets_is_taken_as_it_stands(tmp_path: Path) -> None:
    (tmp_path / "take [1].png").write_bytes(b"x")
    assert names(find_stills("take [1].png", tmp_path)) == ["take [1].png"]


def test_a_picture_in_a_movie_counts_from_one() -> None:
    assert StillRef(path=Path("scene.mov"), index=11, in_movie=True).name == "scene.mov [12]"


@pytest.mark.parametrize(("source", "told"), [
    ("harbor", 'did you mean "harbour"?'),
    ("harbor/*.jpg", 'did you mean "harbour"?'),
    ("harbour/*.jpg", 'did you mean "harbour/*.JPG"?'),
    ("harbor/*.JPG", 'did you mean "harbour/*.JPG"?'),
    ("harbour/shot_1.JPG/x", 'did you mean "harbour/shot_1.JPG"?'),
    ("harbour/shot_%04d.JPG", "did you mean"),
    ("harbour/shot_1.jpg", 'did you mean "harbour/shot_1.JPG"?'),
    ("harbour/notes.txt", "a still is one of: JPEG"),
    ("harbour/*.txt", "a still is one of: JPEG"),
    ("harbour/shot_##_##.JPG", "one counter"),
    ("harbour/shot_%099999999999d.JPG", "did you mean"),
    ("n" * 300, "too long"),
    ("harbour/" + "n" * 300 + "_##.jpg", "too long"),
    ("harbour/" + "n" * 300 + "*", "too long"),
])  # fmt: skip
def test_what_is_not_there_is_refused_with_the_nearest_name(
    source: str, told: str, harbour: Path
) -> None:
    assert told in refusal(source, harbour)


@pytest.mark.parametrize("source", [
    "sets/harbor", "sets/harbour/*.jpg", "sets/harbor/*.JPG", "sets/harbor/shot_1.JPG",
    "sets/harbour/shot_1.jpg",
])  # fmt: skip
def test_the_source_that_is_proposed_is_one(source: str, harbour: Path) -> None:
    (harbour / "sets").mkdir()
    (harbour / "harbour").rename(harbour / "sets" / "harbour")
    for folder, whole in ((harbour, source), (Path("elsewhere"), str(harbour / source))):
        meant = re.search('did you mean "(.*)"', refusal(whole, folder))
        assert meant
        assert find_stills(meant[1], folder)


def test_a_doubled_star_within_a_name_is_refused_or_a_star(harbour: Path) -> None:
    # Until Python 3.13 pathlib takes ** for a whole part of a path only.
    for source in ("harbour/**.JPG", str(harbour / "harbour" / "**.JPG")):
        if sys.version_info >= (3, 13):
            assert names(find_stills(source, harbour)) == IN_ORDER
        else:
            assert "write *" in refusal(source, harbour)


def test_an_empty_folder_is_refused(tmp_path: Path) -> None:
    assert "it is empty" in refusal(".", tmp_path)


def test_a_folder_with_only_a_movie_says_how_to_name_it(tmp_path: Path) -> None:
    (tmp_path / "scene.mov").write_bytes(b"x")
    assert '"scene.mov"' in refusal(".", tmp_path)
    assert f'"{tmp_path.name}/scene.mov"' in refusal(tmp_path.name, tmp_path.parent)


def test_raw_files_beside_their_jpegs_are_refused(harbour: Path) -> None:
    (harbour / "harbour" / "shot_5.NEF").write_bytes(b"x")
    text = refusal("harbour", harbour)
    assert "shot_5.JPG and shot_5.NEF" in text
    assert '"harbour/*.JPG"' in text
    assert f'"{harbour.name}/harbour/*.JPG"' in refusal(f"{harbour.name}/harbour", harbour.parent)
    assert names(find_stills("harbour/*.JPG", harbour)) == IN_ORDER


def numbered(*numbers: int | None) -> list[StillRef]:
    return [StillRef(path=Path("x"), number=number) for number in numbers]


@pytest.mark.parametrize(("numbers", "missing"), [
    ((1, 2, 3), ()),
    ((1, 2, 5), (3, 4)),
    ((7, 9), (8,)),
    ((2, 4, 6, 10), (8,)),
    ((20240501, 20250601, 20250607), ()),
    ((None, None), ()),
    ((4,), ()),
])  # fmt: skip
def test_gaps_are_what_a_counter_would_have_counted(
    numbers: tuple[int, ...], missing: tuple[int, ...]
) -> None:
    assert missing_numbers(numbered(*numbers)) == missing


def test_the_running_number_is_the_last_that_differs() -> None:
    assert running_numbers(["a1_007_4k", "a1_008_4k"]) == (7, 8)
    assert running_numbers(["a1_x", "a1_y"]) == (None, None)
    assert running_numbers(["only_1"]) == (None,)
    # A card's folder counts on too: the counter is the number behind it.
    assert running_numbers(["101_998", "101_999", "102_001"]) == (998, 999, 1)


def test_an_umlaut_is_one_letter_however_the_system_writes_it() -> None:
    # Unicode Standard Annex 15, table 1: U+00E4 composed (NFC) is U+0061 U+0308 decomposed (NFD).
    names = ["ma\u0308r_2.jpg", "m\u00e4r_1.jpg", "m\u00e4r_3.jpg"]
    assert sorted(names, key=natural_key) == [names[1], names[0], names[2]]
    assert running_numbers(["ma\u0308r_2", "m\u00e4r_1", "MA\u0308R_3"]) == (2, 1, 3)


@given(st.lists(st.integers(0, 10**6), min_size=2, unique=True), st.integers(1, 8))
def test_natural_order_is_the_order_of_the_numbers(numbers: list[int], width: int) -> None:
    written = [f"shot_{number:0{width}d}_a.tif" for number in numbers]
    by_name = sorted(written, key=natural_key)
    assert by_name == [f"shot_{number:0{width}d}_a.tif" for number in sorted(numbers)]


def test_finding_stills_loads_no_codec_and_no_compiler() -> None:
    script = (
        "import sys, cropmove.stills.find\n"
        "heavy = {'numba', 'av', 'PIL', 'tifffile', 'imagecodecs', 'simplejpeg', 'rawpy'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("name", ["take [2]", "[a-z]", "what?", "all*", "50% #1"])
def test_a_folder_that_is_there_is_meant_as_it_is_named(harbour: Path, name: str) -> None:
    (harbour / "harbour").rename(harbour / name)
    for folder, source in ((harbour, f"{name}/*.JPG"), (Path("/"), f"{harbour / name}/*.JPG")):
        assert names(find_stills(source, folder)) == IN_ORDER
    assert names(find_stills("*.JPG", harbour / name)) == IN_ORDER
