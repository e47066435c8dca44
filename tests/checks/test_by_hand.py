"""The checks of what is moved by hand: one shot fails each, another passes by a little."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from by_hand import a_rig

from cropmove.checks.facts import Facts
from cropmove.checks.finding import Finding, Level
from cropmove.checks.registry import BY_HAND, CHECKS, findings_of
from cropmove.checks.rig import screen_widths
from cropmove.marking import findings
from cropmove.rig.layers import Layer
from cropmove.rig.optics import Lens
from cropmove.rig.rig import Stop
from cropmove.shot import Shot

LENS = Lens(focal_length=50, distance=800)


class Cases:
    """For each check a shot that fails and one that passes by a little."""

    def __init__(self, key, shot) -> None:
        self.key, self.shot = key, shot

    def of(self, id: str, fails: bool) -> Shot:
        return getattr(self, id.replace("-", "_"))(fails)

    def by_hand(self, *rigs, frames=49, layers=(), lens=LENS, **more) -> Shot:
        whole = self.key(1, 3000, 2000, 6000)
        return self.shot(whole, frames=frames, rigs=rigs, layers=layers, lens=lens, **more)

    def beyond_track(self, fails):
        return self.by_hand(
            a_rig("it", "camera up", start=0, end=300, track=299 if fails else 300)
        )  # fmt: skip

    def too_fast_by_hand(self, fails):
        # 10 mm a still at 200 mm a second are 0.05 s, after the 2 s to read a mark: three things
        # take two hands 3.075 s.
        things = [
            a_rig(name, "subject up", start=0, end=480, ease="none", every=3.07 if fails else 3.08)
            for name in ("a", "b", "c")
        ]
        return self.by_hand(*things)

    def rule_too_short(self, fails):
        return self.by_hand(a_rig("it", "camera up", start=0, end=300, rule=299 if fails else 300))

    def uneven_steps(self, fails):
        # Steps of 7.125 and 7.2 mm read to half a millimetre: one division is 7.02 and 6.94 %.
        step = 7.124 if fails else 7.2
        return self.by_hand(a_rig("it", "camera up", start=0, end=48 * step, ease="none"))

    def small_steps(self, fails):
        end = 48 * (0.499 if fails else 0.501)
        return self.by_hand(a_rig("it", "camera up", start=0, end=end, ease="none"))

    def backlash(self, fails):
        back = (Stop(1, 0.0), Stop(25, 60.0), Stop(49, 59.0 if fails else 60.0))
        return self.by_hand(a_rig("it", "camera up", stops=back, backlash=0.5))

    def by_hand_on_twos(self, fails):
        slider = a_rig("it", "camera sideways", start=0, end=240)
        return self.by_hand(slider, on=2 if fails else 1)

    def rig_differs(self, fails):
        # A pan with the camera's turn, or with the camera's way: the second is exact.
        moves = "camera pan" if fails else "camera sideways"
        keys = (self.key(1, 2500, 2000, 2400), self.key(49, 3500, 2000, 2400))
        return self.shot(*keys, rigs=(a_rig("it", moves, follows="keys"),), lens=LENS)

    def set_shadows(self, fails):
        moves = "set sideways" if fails else "subject sideways"
        return self.by_hand(a_rig("it", moves, start=0, end=300))

    def _crab(self, layer):
        # 1.8 mm a still: 50 / 36 / Z of the frame's width for each millimetre.
        crab = a_rig("it", "camera sideways", start=0, end=48 * 1.8, ease="none")
        return self.by_hand(crab, layers=(layer,))

    def layer_sweeps(self, fails):
        # The seven-second rule: 1 / 168 of the width a frame, reached at 420 mm.
        return self._crab(Layer(name="reeds", distance=419 if fails else 421))

    def layer_leaves(self, fails):
        # At 400 mm the frame takes in 288 mm; the camera goes 86.4 to the right.
        left = -57.6 - 10
        size = (19.0 if fails else 21.0, 50.0)
        return self._crab(Layer(name="post", distance=400, centre=(left, 0), size=size))

    def out_of_focus(self, fails):
        # In focus from 916.42 mm: 50 mm, f/8, 0.03 mm at 1 m, computed.
        lens = Lens(focal_length=50, distance=1000, stop=8)
        far = 84 if fails else 83
        return self.by_hand(a_rig("it", "camera in", start=0, end=far), lens=lens)


@pytest.fixture
def cases(key, shot) -> Cases:
    return Cases(key, shot)


@pytest.fixture
def told(cases) -> Callable[[str, bool], list[Finding]]:
    def found(id, fails):
        return [finding for finding in findings_of(cases.of(id, fails)) if finding.id == id]

    return found


IDS = [check.id for check in BY_HAND]


@pytest.mark.parametrize("id", IDS)
def test_one_shot_fails_and_says_all_that_a_finding_says(told, id):
    found = told(id, True)
    assert found
    for finding in found:
        assert finding.level <= CHECKS[id].level
        assert finding.frames or id == "rule-too-short"
        assert finding.what
        assert finding.unit
        assert finding.measured is not None
        assert finding.limit is not None
        assert any(sign.isdigit() for sign in finding.remedy) or finding.level is Level.NOTE


@pytest.mark.parametrize("id", IDS)
def test_another_shot_passes_by_a_little(told, id):
    assert told(id, False) == []


def test_the_registry_has_the_checks_of_what_is_moved_by_hand_and_there_are_cases_for_all():
    by_hand = {
        id for id, check in CHECKS.items()
        if check.find.__module__.removeprefix("cropmove.checks.") in ("layers", "rig", "steps")
    }  # fmt: skip
    assert by_hand == set(IDS)
    cases = {name for name in vars(Cases) if not name.startswith("_")} - {"of", "by_hand"}
    assert cases == {id.replace("-", "_") for id in IDS}


def test_a_background_that_follows_the_keys_does_not_count_as_the_camera(cases, key, shot):
    keys = (key(1, 2500, 2000, 2400), key(49, 3500, 2000, 2400))
    sky = a_rig("sky", "background sideways", follows="keys", distance=1500)
    alone = shot(*keys, rigs=(sky,), lens=LENS)
    assert not [f for f in findings(alone) if f.id == "rig-differs"]
    # Crab and background: the crab is exact (a pinhole's), as in the case above.
    both = replace(alone, rigs=(*cases.rig_differs(False).rigs, sky))
    assert not [f for f in findings(both) if f.id == "rig-differs"]


@pytest.mark.parametrize(("on", "times"), [(2, "twice"), (3, "3 times")])
def test_on_twos_every_pose_is_photographed_twice_on_marks_of_its_own(cases, on, times):
    slider = a_rig("it", "camera sideways", start=0, end=240)
    (told,) = [f for f in findings(cases.by_hand(slider, on=on)) if f.id == "by-hand-on-twos"]
    assert f"photograph every pose {times}, each time on the next mark" in told.remedy


def number_after(text: str, words: str) -> float:
    return float(text.split(words)[1].split()[0].rstrip(","))


@pytest.mark.parametrize(
    ("id", "step"),
    [("uneven-steps", 1.3), ("uneven-steps", 3.1), ("uneven-steps", 5.3), ("small-steps", 0.4)],
)
def test_a_longer_travel_or_a_finer_rule_makes_steps_even(cases, id, step):
    def found(**words):
        it = a_rig("it", "camera up", **{"start": 0, "end": 48 * step, "ease": "none"} | words)
        return [f for f in findings(cases.by_hand(it)) if f.id == id]

    remedy = found()[0].remedy
    assert "a travel of" in remedy or "read to" in remedy
    if "a travel of" in remedy:
        assert not found(end=number_after(remedy, "a travel of "))
    if "read to" in remedy:
        assert not found(division=number_after(remedy, "read to "))


def test_the_eases_that_are_offered_can_be_set(cases):
    def found(**eases):
        it = a_rig("it", "camera up", start=0, end=60, **eases)
        return [f for f in findings(cases.by_hand(it)) if f.id == "small-steps"]

    remedy = found(ease_in=16, ease_out=24)[0].remedy
    ease_in = int(number_after(remedy, "an ease in of at most "))
    ease_out = int(number_after(remedy, "an ease out of at most "))
    assert not found(ease_in=ease_in, ease_out=ease_out)


@pytest.mark.parametrize("on", [2, 3])
def test_the_eases_that_are_offered_can_be_set_where_stills_are_held(cases, on):
    def found(ease_in, ease_out):
        # 95 steps over 48 stills on twos are 2.02 frames apart, over 32 on threes 3.06.
        it = a_rig("it", "camera up", start=0, end=60, ease_in=ease_in, ease_out=ease_out)
        shot = cases.by_hand(it, frames=96, on=on)
        return [f for f in findings(shot) if f.id == "small-steps"]

    remedy = found(32, 48)[0].remedy
    ease_in = int(number_after(remedy, "an ease in of at most "))
    ease_out = int(number_after(remedy, "an ease out of at most "))
    assert not found(ease_in, ease_out)


def test_a_finer_rule_is_not_offered_for_what_a_hand_cannot_set(cases):
    def found(**words):
        it = a_rig("it", "camera up", start=0, end=24, ease="none", **words)
        return [f for f in findings(cases.by_hand(it)) if f.id == "small-steps"]

    # Steps of half a millimetre, and a hand that can set 0.8.
    assert "read to" not in found(smallest=0.8)[0].remedy
    assert "read to" in found(division=1.0)[0].remedy


@pytest.mark.parametrize(("end", "every", "enough"), [(8000, 0.5, 0.84), (20000, 1, 4.1)])
def test_the_time_that_is_offered_is_enough_for_two_hands(cases, end, every, enough):
    def found(every):
        it = a_rig("it", "camera up", start=0, end=end, ease="none", every=every)
        return [f for f in findings(cases.by_hand(it)) if f.id == "too-fast-by-hand"]

    # 8000 / 48 / 200 mm a second are 0.833 s, and 2.083 for 20000: above 2 s marks are read, 2 s.
    assert found(every)[0].figures["every"] == enough
    assert not found(enough)


def test_the_distance_that_is_offered_calms_a_foreground(cases):
    fails = cases.layer_sweeps(True)
    (finding,) = [f for f in findings(fails) if f.id == "layer-sweeps"]
    calm = replace(fails.layers[0], distance=finding.figures["calm_distance"])
    assert not [f for f in findings(replace(fails, layers=(calm,))) if f.id == "layer-sweeps"]


@pytest.mark.parametrize(
    ("moves", "end", "frames", "distance"),
    [("camera sideways", 300, 53, 900), ("set turn", 30, 47, 2380), ("camera arc", 40, 37, 512)],
)
def test_the_time_that_is_offered_calms_a_layer(cases, moves, end, frames, distance):
    def found(frames):
        it = a_rig("it", moves, start=0, end=end, ease="none")
        shot = cases.by_hand(it, frames=frames, layers=(Layer(name="l", distance=distance),))
        return [f for f in findings(shot) if f.id == "layer-sweeps"]

    (finding,) = found(frames)
    times = number_after(finding.remedy, "make the move ")
    assert not found(1 + int((frames - 1) * times))


def test_stops_that_a_longer_move_brings_to_one_still_do_not_stop_the_check(cases):
    # On fours frames 8 and 9 are two stills; 1.2 times as late they are 9 and 10, which are one.
    for end in range(100, 400, 20):
        stops = (Stop(1, 0.0), Stop(8, 10.0), Stop(9, 12.0), Stop(49, end))
        it = a_rig("it", "camera sideways", stops=stops, ease="none")
        shot = cases.by_hand(it, on=4, layers=(Layer(name="l", distance=300),))
        assert all(f.remedy for f in findings(shot))


def test_a_layer_that_no_longer_move_calms_is_told_to_go_less_far(cases):
    # In a corner of the frame a step of it is hundreds of times what is calm; 20 times as long is
    # the most that is offered (common practice, no source).
    it = a_rig("it", "set turn", start=0, end=60)
    shot = cases.by_hand(it, frames=49, layers=(Layer(name="near", distance=240),))
    (finding,) = [f for f in findings(shot) if f.id == "layer-sweeps"]
    assert finding.figures["times"] is None
    assert "times as long" not in finding.remedy


def test_the_stop_that_is_offered_brings_the_subject_into_focus(cases):
    fails = cases.out_of_focus(True)
    (finding,) = [f for f in findings(fails) if f.id == "out-of-focus"]
    closed = replace(fails.lens, stop=finding.figures["stop"])
    assert not [f for f in findings(replace(fails, lens=closed)) if f.id == "out-of-focus"]


@pytest.mark.parametrize("turned_round", [False, True])
def test_focus_follows_all_that_moves_the_subject(turned_round, cases):
    lens = Lens(focal_length=50, distance=800, stop=4)
    ways = (a_rig("way", "subject sideways", start=0, end=50),
            a_rig("pull", "subject in", start=0, end=300))  # fmt: skip
    shot = replace(cases.by_hand(*(ways[::-1] if turned_round else ways)), lens=lens)
    (finding,) = [f for f in findings(shot) if f.id == "out-of-focus"]
    assert finding.frames[-1][1] == 49


def test_a_camera_that_goes_past_its_subject_is_told_so_and_pulls_no_focus(cases):
    it = a_rig("it", "camera in", start=0, end=900)
    shot = cases.by_hand(it, lens=Lens(focal_length=50, distance=800, stop=8))
    (finding,) = [f for f in findings(shot) if f.id == "out-of-focus"]
    # 900 mm towards what is 800 off: 100 behind it.
    assert finding.what.startswith("the camera goes past the subject")
    assert "100 mm behind the lens" in finding.what
    assert finding.frames[-1][1] == 49
    assert "focus" not in finding.remedy
    nearer = replace(shot, rigs=(replace(it, end=790),))
    assert "goes past" not in next(f.what for f in findings(nearer) if f.id == "out-of-focus")


def test_a_way_there_and_back_says_in_which_frames_it_is_beyond_its_track(cases):
    # From 60 a track of 100 ends at -40. By 6 a frame it is beyond from frame 28, at -42, to 34.
    stops = (Stop(1, 0.0), Stop(11, 60.0), Stop(31, -60.0), Stop(41, 0.0))
    it = a_rig("it", "camera up", stops=stops, ease="none", track=100)
    (finding,) = [f for f in findings(cases.by_hand(it, frames=41)) if f.id == "beyond-track"]
    assert finding.measured == 120
    assert finding.frames == ((28, 34),)


def test_a_step_longer_than_the_rule_is_a_fault(cases):
    it = a_rig("it", "camera up", start=0, end=480, ease="none", rule=9)
    (finding,) = [f for f in findings(cases.by_hand(it)) if f.id == "rule-too-short"]
    assert finding.level is Level.FAULT


def test_a_thing_pushed_while_the_camera_runs_needs_no_time_to_read_marks(cases):
    def found(end):
        pushed = a_rig("it", "camera up", start=0, end=end, ease="none", every=1 / 24)
        return [f for f in findings(cases.by_hand(pushed)) if f.id == "too-fast-by-hand"]

    # 200 mm a second are 8.33 mm in a frame at 24.
    assert found(48 * 8.4)
    assert not found(48 * 8.3)


@pytest.mark.parametrize(("distance", "sweeps"), [(419, 1), (421, 0)])
def test_held_for_two_frames_a_layer_may_step_twice_as_far(cases, distance, sweeps):
    # 3.6 mm a still, twice what the seven-second rule allows a frame at 420 mm.
    crab = a_rig("it", "camera sideways", start=0, end=24 * 3.6, ease="none")
    twos = cases.by_hand(crab, layers=(Layer(name="reeds", distance=distance),), on=2)
    assert len([f for f in findings(twos) if f.id == "layer-sweeps"]) == sweeps


@pytest.mark.parametrize(
    ("moves", "per"),
    [
        # Behind 50 mm on 36 mm a framing of half the width takes in 288 mm at 800 mm.
        ("camera sideways", 1 / 288),
        ("camera up", 1 / 288),
        # A corner is 0.5737 widths from the middle at 16:9; nearer by 1 in 800, further by that.
        ("camera in", 0.57368 / 800),
        ("camera roll", 0.57368 * 0.0174533),
        # A degree, 0.0174533 of the 50 mm, of the 18 mm of the sensor that are kept.
        ("camera pan", 0.0174533 * 50 / 18),
        ("camera tilt", 0.0174533 * 50 / 18),
    ],
)
def test_how_far_the_picture_goes_for_a_little_move_by_hand(key, shot, moves, per):
    half = key(1, 3000, 2000, 3000)
    made = shot(half, frames=49, rigs=(a_rig("it", moves, start=0, end=9),), lens=LENS)
    assert screen_widths(Facts(made), made.marks()["it"]) == pytest.approx(per, rel=1e-4)


def test_a_layer_at_the_subject_s_distance_is_told_once(cases):
    fails = cases.out_of_focus(True)
    named = replace(fails, layers=(Layer(name="boat", distance=fails.lens.distance),))
    told = [f.figures["layer"] for f in findings(named) if f.id == "out-of-focus"]
    assert told == ["boat"]
