"""Shot files opened and written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

import cropmove
from cropmove.errors import InputError, MachineError
from cropmove.geometry import Size
from cropmove.shotfile import source_from

TEXT = """\
[shot]
stills = "harbour"   # take 2
[delivery]
size = [320, 240]
[[key]]
frame = 1
centre = ["50%", "50%"]
width = "100%"
"""


@pytest.fixture
def file(tmp_path: Path, photograph: Callable[..., Path]) -> Path:
    photograph()
    path = tmp_path / "quay.toml"
    path.write_text(TEXT)
    return path


def refusal(path: Path) -> str:
    with pytest.raises(InputError) as refused:
        cropmove.load(path)
    assert all(c.where.startswith(str(path)) for c in refused.value.complaints)
    return str(refused.value)


def test_stills_are_found_from_the_shot_file_wherever_one_stands(
    file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir("/")
    shot = cropmove.load(file)
    assert shot.name == "quay"
    assert len(shot.stills) == 4
    assert shot.stills.size == Size(640, 480)
    assert shot.keys[0].framing.width == 640


def test_the_still_is_upright(tmp_path: Path, file: Path, photograph: Callable[..., Path]) -> None:
    photograph(orientation=8)
    shot = cropmove.load(file)
    assert shot.stills.size == Size(480, 640)
    assert shot.keys[0].framing.width == 480


def test_saving_what_was_loaded_changes_no_byte(file: Path) -> None:
    for text in (TEXT, TEXT.replace("\n", "\r\n"), TEXT.rstrip()):
        file.write_bytes(text.encode())
        cropmove.save(cropmove.load(file), file, overwrite=True)
        assert file.read_bytes() == text.encode()


def test_saving_keeps_the_comments(file: Path) -> None:
    cropmove.save(replace(cropmove.load(file), on=2), file, overwrite=True)
    assert file.read_text().startswith('[shot]\nstills = "harbour"   # take 2\n')
    assert cropmove.load(file).on == 2


def test_saving_over_a_file_wants_to_be_asked(file: Path) -> None:
    shot = replace(cropmove.load(file), on=2)
    with pytest.raises(InputError, match="overwrite"):
        cropmove.save(shot, file)
    assert file.read_text() == TEXT
    cropmove.save(shot, file.with_name("other.toml"))
    assert replace(cropmove.load(file.with_name("other.toml")), name="quay") == shot


def test_a_broken_file_that_is_saved_over_is_named_and_kept(file: Path) -> None:
    shot = cropmove.load(file)
    file.write_text("[shot\n")
    with pytest.raises(InputError, match=r"quay\.toml"):
        cropmove.save(shot, file, overwrite=True)
    assert file.read_text() == "[shot\n"


def test_a_byte_order_mark_is_no_fault(file: Path) -> None:
    file.write_bytes(TEXT.encode("utf-8-sig"))
    assert len(cropmove.load(file).stills) == 4


def test_a_missing_file_is_refused_with_the_nearest(file: Path) -> None:
    assert f"did you mean {file}?" in refusal(file.with_name("qay.toml"))
    assert f"did you mean {file}?" in refusal(file.with_suffix(""))
    assert "cropmove new" in refusal(file.parent / "elsewhere" / "zebra.toml")


def test_a_folder_is_refused_with_the_shot_files_in_it(file: Path, tmp_path: Path) -> None:
    assert f"name a shot file in it: {file}" in refusal(file.parent)
    (file.parent / "zebra.toml").write_text("")
    assert f"{file}, or one of 1 more" in refusal(file.parent)
    (tmp_path / "empty").mkdir()
    assert refusal(tmp_path / "empty").endswith("name a shot file")


def test_names_that_share_their_ending_alone_are_not_near(file: Path) -> None:
    told = refusal(file.with_name("zebra.toml"))
    assert "cropmove new" in told
    assert "did you mean" not in told


def test_a_name_that_is_too_long_is_told_plainly(file: Path) -> None:
    with pytest.raises(MachineError, match="shorter name"):
        cropmove.load(file.with_name("n" * 300 + ".toml"))
    with pytest.raises(MachineError, match="shorter name"):
        cropmove.save(cropmove.load(file), file.with_name("n" * 300 + ".toml"), overwrite=True)


def test_a_folder_is_no_shot_file(file: Path) -> None:
    assert "folder" in refusal(file.parent)


def test_what_is_no_text_is_refused(file: Path) -> None:
    file.write_bytes(b"\xff\xd8\xff\xe0 a picture")
    assert "UTF-8" in refusal(file)


def test_missing_stills_are_refused_with_the_nearest(file: Path) -> None:
    file.write_text(TEXT.replace("harbour", "harbor"))
    told = refusal(file)
    assert told.count("rule:") == 1
    assert 'did you mean "harbour"' in told


def test_an_empty_folder_of_stills_is_refused(file: Path, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    file.write_text(TEXT.replace("harbour", "empty"))
    assert "empty" in refusal(file)


def test_a_text_that_is_called_a_picture_is_refused(file: Path, tmp_path: Path) -> None:
    for still in (tmp_path / "harbour").iterdir():
        still.write_text("not a picture")
    assert refusal(file).count("rule:") == 1


def test_stills_to_come_may_be_missing_and_may_not_contradict_those_that_are(file: Path) -> None:
    file.write_text(TEXT.replace("[shot]", "[shot]\nstill_size = [640, 480]"))
    assert len(cropmove.load(file).stills) == 4
    file.write_text(TEXT.replace("[shot]", "[shot]\nstill_size = [600, 400]"))
    assert "take still_size out" in refusal(file)
    file.write_text(TEXT.replace("[shot]", "[shot]\nstill_size = [600, 400]").replace("harb", "x"))
    planned = cropmove.load(file)
    assert len(planned.stills) == 0
    assert planned.stills.size == Size(600, 400)


def test_a_folder_that_cannot_be_made_is_told_plainly(file: Path) -> None:
    with pytest.raises(MachineError, match="the machine refused"):
        cropmove.save(cropmove.load(file), file / "below" / "quay.toml")


def test_stills_on_another_drive_are_named_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    def relpath(path: str, start: Path) -> str:  # Python, ntpath: no way between two drives
        raise ValueError(f"path is on mount 'D:', start on mount 'C:': {path}, {start}")

    monkeypatch.setattr("os.path.relpath", relpath)
    assert source_from("/stills/harbour", Path("/shots/quay.toml")) == "/stills/harbour"


@pytest.mark.parametrize("source", ["harbour", "harbour/*.jpg", "../{here}/harbour"])
def test_a_shot_that_is_saved_elsewhere_finds_its_stills_from_there(
    file: Path, tmp_path: Path, source: str
) -> None:
    file.write_text(TEXT.replace('"harbour"', f'"{source.format(here=tmp_path.name)}"'))
    shot = cropmove.load(file)
    for place in (tmp_path / "second" / "try" / "quay.toml", tmp_path / "twin.toml"):
        cropmove.save(shot, place)
        again = cropmove.load(place)
        assert [r.path.resolve() for r in again.stills.refs] == [
            r.path.resolve() for r in shot.stills.refs
        ]
    assert again.stills.source == shot.stills.source  # as it was, where it is as good from there
