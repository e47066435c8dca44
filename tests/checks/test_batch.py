"""Several shot files checked together."""

import pytest

from cropmove.checks.batch import check_batch

TEXT = """
[shot]
still_size = [6000, 4000]
[delivery]
size = "hd"
[[key]]
frame = 1
centre = ["50%", "50%"]
width = {width}
"""


@pytest.fixture
def files(tmp_path):
    def made(**widths):
        paths = []
        for name, width in widths.items():
            path = tmp_path / name.replace("__", "/")
            path = path.with_suffix(".toml")
            path.parent.mkdir(exist_ok=True)
            path.write_text(TEXT.format(width=width), encoding="utf-8")
            paths.append(path)
        return paths

    return made


def test_a_bad_file_does_not_stop_the_others(files):
    good, bad, tight = check_batch(files(good=4000, bad='"wide"', tight=1000))
    assert [one.exit_code for one in (good, bad, tight)] == [0, 2, 1]
    assert good.error is None
    assert "width" in str(bad.error)
    assert [finding.id for finding in tight.findings] == ["enlarged"]


def test_shots_of_one_name_in_two_folders_clash(files):
    one, other, third = check_batch(files(a__quay=4000, b__quay=4000, pier=4000))
    assert [finding.id for finding in one.findings] == ["name-clash"]
    assert [finding.id for finding in other.findings] == ["name-clash"]
    assert third.findings == ()


def test_as_json_a_bad_file_tells_its_errors(files):
    good, bad = (one.to_json() for one in check_batch(files(good=4000, bad='"wide"')))
    assert (good["frames"], good["fps"], good["stills"], good["errors"]) == (1, 24.0, 0, [])
    assert bad["frames"] is None
    assert bad["errors"][0].keys() == {"where", "value", "rule", "remedy"}


def test_each_of_two_that_clash_is_told_another_name_and_none_that_is_taken(files):
    paths = files(a__quay=4000, b__quay=4000)
    (paths[0].parent / "quay_2.toml").write_text("somebody else's")
    told = [one.findings[0].figures["free_name"] for one in check_batch(paths)]
    assert told == ["quay_3", "quay_2"]
    renamed = [path.rename(path.with_stem(f)) for path, f in zip(paths, told, strict=True)]
    assert [one.findings for one in check_batch(renamed)] == [(), ()]
