"""Readings that can and cannot be true: cases 11b, 12, 13 and 14, lines exchanged, and the exact boundaries."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pmsched.domain.clocks import ClockChange, ShipClock
from pmsched.domain.counts import Meter
from pmsched.domain.readings import (
    Judgement,
    Line,
    Point,
    Suggestion,
    exchange_suggestion,
    fault_of,
    find_swapped_lines,
    judge,
)

H = 3600
DAY = 86_400
UTC_CLOCK = ShipClock()
WHOLE, TENTHS, MINUTES = Meter(), Meter(reads="tenths"), Meter(reads="h:min")
STARTS = Meter(unit="starts")


def at(text: str) -> int:
    """The instant of '2025-09-04 12:00' in UTC."""
    return int(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp())


def hours(when: str, total: int) -> Point:
    """A reading of whole hours."""
    return Point(at(when), total * H)


def ask(line: Line, clock: ShipClock = UTC_CLOCK) -> Judgement:
    """The judgement of one line."""
    return judge(
        line.point, line.before, line.after, line.meter, line.dial, line.dial_offset, line.earlier, clock=clock
    )


def dials(judgement: Judgement) -> list[tuple[str, int | None]]:
    """Kinds and values of the suggestions."""
    return [(suggestion.kind, suggestion.dial) for suggestion in judgement.suggestions]


def test_case_11b_a_reading_goes_backwards_and_both_explanations_are_offered() -> None:
    """Digits swapped in this one, or the older reading is the wrong one; the tool does not pick."""
    line = Line(
        at("2025-06-15 12:00"),
        45_230 * H,
        WHOLE,
        before=hours("2025-06-01 12:00", 45_320),
        after=None,
        earlier=hours("2025-05-18 12:00", 45_000),
    )
    assert ask(line) == Judgement(
        accepted=False,
        code="backwards",
        message="lower than the reading of 2025-06-01 by 90 h",
        suggestions=(
            Suggestion("swapped-digits", 45_320 * H, "Did you mean 45 320 (+0 h: only if it stood still)?"),
            Suggestion(
                "other-reading-wrong",
                None,
                "or the reading of 2025-06-01 (45 320) is the wrong one: 45 230 is 230 h above 2025-05-18, in 28 days",
            ),
        ),
    )


def test_the_older_reading_is_not_blamed_if_this_one_is_impossible_without_it_too() -> None:
    """Lower than both readings before it: only this one can be wrong."""
    line = Line(
        at("2025-06-15 12:00"),
        44_990 * H,
        WHOLE,
        before=hours("2025-06-01 12:00", 45_320),
        after=None,
        earlier=hours("2025-05-18 12:00", 45_000),
    )
    assert ask(line).suggestions == ()


def test_the_older_reading_is_blamed_in_a_whole_sentence_if_it_is_the_only_explanation() -> None:
    """No swapped digits fit; clocks put back an hour in between are counted."""
    line = Line(
        at("2025-06-15 13:00"),
        45_111 * H,
        WHOLE,
        before=hours("2025-06-01 12:00", 45_320),
        after=None,
        earlier=hours("2025-05-18 12:00", 45_000),
    )
    assert [suggestion.text for suggestion in ask(line).suggestions] == [
        "perhaps the reading of 2025-06-01 (45 320) is the wrong one: 45 111 is 111 h above 2025-05-18, in 28 days 1 h"
    ]


def test_case_12_faster_than_the_clock_and_one_of_four_swaps_fits() -> None:
    """31 204 to 31 430 in 7 days: of 13 430, 34 130, 31 340 and 31 403 only 31 340 fits within 168 h."""
    line = Line(at("2025-07-08 12:00"), 31_430 * H, WHOLE, before=hours("2025-07-01 12:00", 31_204), after=None)
    assert ask(line) == Judgement(
        accepted=False,
        code="faster-than-clock",
        message="226 h in 7 days (168 h on the clock)",
        suggestions=(Suggestion("swapped-digits", 31_340 * H, "Did you mean 31 340 (+136 h)?"),),
    )


def test_the_older_reading_is_blamed_only_for_going_backwards() -> None:
    """Too fast is this reading's own fault, even if it would fit the one before the last."""
    before, earlier = hours("2025-07-01 12:00", 31_204), hours("2025-06-01 12:00", 31_200)
    line = Line(at("2025-07-08 12:00"), 31_430 * H, WHOLE, before, after=None, earlier=earlier)
    assert dials(ask(line)) == [("swapped-digits", 31_340 * H)]


def test_case_12_a_lost_decimal_point_on_a_meter_with_tenths() -> None:
    """Last 1 234.5 yesterday, entered 12367."""
    before = Point(at("2025-07-07 12:00"), 12_345 * 360)
    line = Line(at("2025-07-08 12:00"), 12_367 * H, TENTHS, before, after=None)
    assert ask(line).suggestions == (Suggestion("decimal-point", 12_367 * 360, "Did you mean 1 236.7 (+2.2 h)?"),)


def test_a_number_typed_with_its_point_has_not_lost_it() -> None:
    """12 367.5 is not read as 1 236.75."""
    line = Line(DAY, 123_675 * 360, TENTHS, before=Point(0, 12_345 * 360), after=None)
    assert ask(line).suggestions == ()


def test_a_lost_colon_on_a_meter_of_hours_and_minutes() -> None:
    """1234530 was meant as 12345:30."""
    before = Point(at("2025-07-07 12:00"), 12_340 * H)
    line = Line(at("2025-07-08 12:00"), 1_234_530 * H, MINUTES, before, after=None)
    assert ask(line).suggestions == (
        Suggestion("decimal-point", 12_345 * H + 30 * 60, "Did you mean 12 345:30 (+5:30 h)?"),
    )


# Case 13a: noon at UTC+8, then noon at UTC+9, clocks advanced at 02:00.
ADVANCED = ShipClock([ClockChange(at("2025-09-01 00:00"), 480), ClockChange(at("2025-09-04 18:00"), 540)])


@pytest.mark.parametrize(
    ("rise", "code", "message"),
    [
        pytest.param(23, "", "", id="up 23: the clock"),
        pytest.param(24, "", "", id="up 24: the clock and one step (R10)"),
        pytest.param(25, "faster-than-clock", "25 h in 23 h", id="up 25: held"),
    ],
)
def test_case_13a_23_hours_between_noons(rise: int, code: str, message: str) -> None:
    """Elapsed time counts, not the ship's dates."""
    before = hours("2025-09-04 04:00", 1000)
    judgement = ask(Line(at("2025-09-05 03:00"), (1000 + rise) * H, WHOLE, before, after=None), ADVANCED)
    assert (judgement.code, judgement.message, judgement.accepted) == (code, message, not code)


def test_case_13b_two_readings_with_the_same_ships_date_are_not_duplicates() -> None:
    """The second noon of 10 September, 24 h after the first: 60 112 to 60 136."""
    clock = ShipClock([ClockChange(0, 720), ClockChange(at("2025-09-10 12:00"), -720)])
    first, second = hours("2025-09-10 00:00", 60_112), hours("2025-09-11 00:00", 60_136)
    assert clock.ship_date(first.at) == clock.ship_date(second.at)
    assert ask(Line(second.at, second.total, WHOLE, first, after=None), clock) == Judgement(accepted=True)


def test_a_reading_of_the_other_occurrence_of_the_date_is_named_with_its_offset() -> None:
    """Both are 12:00 on 10 September."""
    clock = ShipClock([ClockChange(0, 720), ClockChange(at("2025-09-10 12:00"), -720)])
    line = Line(at("2025-09-11 00:00"), 60_100 * H, WHOLE, hours("2025-09-10 00:00", 60_112), after=None)
    assert ask(line, clock).message == "lower than the reading of 12:00 UTC+12 by 12 h"


MORNING, EVENING = hours("2025-06-20 08:00", 5410), hours("2025-06-20 20:00", 5418)


@pytest.mark.parametrize(
    ("when", "value", "before", "after", "expected"),
    [
        pytest.param("20:00", 5418, MORNING, None, Judgement(accepted=True), id="14: 8 h in 12 h"),
        pytest.param(
            "20:00",
            5418,
            EVENING,
            None,
            Judgement(accepted=True, duplicate=True, message="already entered"),
            id="14a: sent again",
        ),
        pytest.param(
            "16:00",
            5419,
            MORNING,
            EVENING,
            Judgement(accepted=False, code="above-later", message="more than the later reading of 20:00 (5 418)"),
            id="14b: above the later reading",
        ),
        pytest.param("14:00", 5414, MORNING, EVENING, Judgement(accepted=True), id="14c: fits between"),
        pytest.param(
            "20:00",
            5417,
            EVENING,
            None,
            Judgement(
                accepted=False,
                code="differs-at-same-time",
                message="another value is already entered for 20:00 (5 418)",
            ),
            id="another value for the same time",
        ),
    ],
)
def test_case_14_two_readings_on_one_day(
    when: str, value: int, before: Point, after: Point | None, expected: Judgement
) -> None:
    """All parts of case 14."""
    assert ask(Line(at(f"2025-06-20 {when}"), value * H, WHOLE, before, after)) == expected


def test_swapped_digits_of_a_value_already_entered() -> None:
    """5 481 typed for the time at which 5 418 stands: the same reading again."""
    line = Line(EVENING.at, 5481 * H, WHOLE, EVENING, after=None)
    assert [suggestion.text for suggestion in ask(line).suggestions] == ["Did you mean 5 418 (already entered)?"]


def test_a_value_sent_again_is_a_duplicate_even_where_its_neighbours_were_forced() -> None:
    """A person had confirmed 5 500 at 20:00 although 5 450 followed; sending it again adds nothing."""
    forced = hours("2025-06-20 20:00", 5500)
    assert ask(Line(forced.at, forced.total, WHOLE, forced, hours("2025-06-21 08:00", 5450))).duplicate


@pytest.mark.parametrize("meter", [WHOLE, TENTHS, MINUTES, STARTS], ids=["whole", "tenths", "h:min", "starts"])
def test_a_first_reading_is_accepted(meter: Meter) -> None:
    """Nothing to compare with."""
    assert ask(Line(0, 99_999 * meter.step, meter, None, None)) == Judgement(accepted=True)


METERS = [
    pytest.param(WHOLE, H, id="whole hours: one hour"),
    pytest.param(TENTHS, 360, id="tenths: six minutes"),
    pytest.param(MINUTES, 60, id="h:min: one minute"),
]


@pytest.mark.parametrize(("meter", "step"), METERS)
def test_the_clock_and_one_step_is_the_most_an_hours_meter_can_gain(meter: Meter, step: int) -> None:
    """Against the reading before: exactly at the limit accepted, one step more held; equal accepted, one less held."""
    before = Point(0, 1000 * H)
    codes = [
        fault_of(Line(DAY, before.total + rise, meter, before, None)) for rise in (-step, 0, DAY + step, DAY + 2 * step)
    ]
    assert codes == ["backwards", "", "", "faster-than-clock"]


@pytest.mark.parametrize(("meter", "step"), METERS)
def test_the_same_limit_holds_towards_the_later_reading(meter: Meter, step: int) -> None:
    """Against the reading after, with none before."""
    after = Point(DAY, 1000 * H)
    codes = [
        fault_of(Line(0, after.total - rise, meter, None, after)) for rise in (-step, 0, DAY + step, DAY + 2 * step)
    ]
    assert codes == ["above-later", "", "", "later-too-fast"]


def test_the_limit_is_exact_to_the_second() -> None:
    """A day less one second cannot hold what a day holds."""
    assert fault_of(Line(DAY - 1, DAY + H, WHOLE, Point(0, 0), None)) == "faster-than-clock"


def test_one_end_may_fit_while_the_other_does_not() -> None:
    """Too little by noon for what the evening shows."""
    line = Line(at("2025-06-20 19:00"), 5411 * H, WHOLE, MORNING, EVENING)
    judgement = ask(line)
    assert judgement.code == "later-too-fast"
    assert judgement.message == "the later reading of 20:00 (5 418) would be 7 h in 1 h"


@pytest.mark.parametrize(
    ("value", "code", "message"),
    [
        pytest.param(6000, "", "", id="5 900 starts in an hour, 6 000 in the next: no clock for starts"),
        pytest.param(100, "", "", id="no increase"),
        pytest.param(98, "backwards", "lower than the reading of 1970-01-01 by 2 starts", id="backwards"),
        pytest.param(12_001, "above-later", "more than the later reading of 01:00 (12 000)", id="above the later"),
    ],
)
def test_counters_of_other_units_know_order_but_no_clock(value: int, code: str, message: str) -> None:
    """Starts, cycles and the like."""
    judgement = ask(Line(DAY, value, STARTS, Point(DAY - H, 100), Point(DAY + H, 12_000)))
    assert (judgement.code, judgement.message) == (code, message)


def test_swapped_digits_of_other_units() -> None:
    """Digits are swapped on any dial."""
    judgement = ask(Line(DAY, 1310, STARTS, Point(0, 1100), Point(2 * DAY, 1200)))
    assert [suggestion.text for suggestion in judgement.suggestions] == ["Did you mean 1 130 (+30 starts)?"]


def minutes(dial: tuple[int, int]) -> int:
    """Seconds of an hours-and-minutes dial."""
    return dial[0] * H + dial[1] * 60


@pytest.mark.parametrize(
    ("before", "elapsed_hours", "typed", "meant"),
    [
        pytest.param((100, 0), 4, (120, 15), [(102, 15)], id="inside the hours"),
        pytest.param((102, 10), 1, (102, 1), [(102, 10)], id="inside the minutes"),
        pytest.param((101, 0), 2, (104, 15), [(101, 45)], id="across the colon"),
        pytest.param((104, 0), 2, (107, 45), [], id="across the colon would give 104:75"),
    ],
)
def test_digits_swapped_on_a_meter_of_hours_and_minutes(
    before: tuple[int, int], elapsed_hours: int, typed: tuple[int, int], meant: list[tuple[int, int]]
) -> None:
    """Also across the colon, but only where the minutes stay below 60."""
    line = Line(elapsed_hours * H, minutes(typed), MINUTES, Point(0, minutes(before)), None)
    assert dials(ask(line)) == [("swapped-digits", minutes(dial)) for dial in meant]


def test_digits_swapped_across_the_point_of_a_meter_with_tenths() -> None:
    """1 236.7 was typed as 1 263.7 or as 1 237.6; both are found."""
    before = Point(0, 12_366 * 360)
    assert dials(ask(Line(H, 12_637 * 360, TENTHS, before, None))) == [("swapped-digits", 12_367 * 360)]
    assert dials(ask(Line(H // 2, 12_376 * 360, TENTHS, before, None))) == [("swapped-digits", 12_367 * 360)]


def test_a_value_finer_than_the_meter_shows_gets_no_digits_swapped() -> None:
    """31 430.5 on a dial of whole hours: the digits are not those of the dial."""
    assert ask(Line(7 * DAY, 31_430 * H + 1800, WHOLE, Point(0, 31_204 * H), None)).suggestions == ()


def test_no_increase_is_claimed_without_a_reading_before() -> None:
    """Only the later reading is known."""
    judgement = ask(Line(0, 5441 * H, WHOLE, None, Point(2 * DAY, 5430 * H)))
    assert [suggestion.text for suggestion in judgement.suggestions] == ["Did you mean 5 414?"]


def test_sentences_and_suggestions_speak_of_the_dial_not_of_the_running_total() -> None:
    """A dial that was replaced stands 18 000 h below the total; case 14b on it."""
    offset = 18_000 * H
    before, after = hours("2025-06-20 08:00", 23_410), hours("2025-06-20 20:00", 23_418)
    judgement = ask(Line(at("2025-06-20 16:00"), 5421 * H, WHOLE, before, after, offset))
    assert judgement.message == "11 h in 8 h"
    judgement = ask(Line(at("2025-06-20 16:00"), 5419 * H, WHOLE, before, after, offset))
    assert judgement.message == "more than the later reading of 20:00 (5 418)"
    judgement = ask(Line(at("2025-06-20 16:00"), 4514 * H, WHOLE, before, after, offset))
    assert judgement.suggestions == (Suggestion("swapped-digits", 5414 * H, "Did you mean 5 414 (+4 h)?"),)


def test_a_total_that_is_not_dial_and_offset_is_a_mistake_in_the_code() -> None:
    """A forgotten offset must not be judged quietly."""
    with pytest.raises(ValueError, match="offset"):
        judge(Point(0, 20_000 * H), None, None, WHOLE, 2_000 * H, clock=UTC_CLOCK)


def test_times_in_sentences_are_ships_times() -> None:
    """12:00 UTC is 20:00 on board at UTC+8."""
    clock = ShipClock([ClockChange(0, 480)])
    before, after = hours("2025-06-20 00:00", 5410), hours("2025-06-20 12:00", 5418)
    judgement = ask(Line(at("2025-06-20 08:00"), 5419 * H, WHOLE, before, after), clock)
    assert judgement.message == "more than the later reading of 20:00 (5 418)"


@pytest.mark.parametrize(
    ("elapsed", "message"),
    [
        (600, "100 h in 0:10 h"),
        (1800, "100 h in 0.5 h"),
        (23 * H, "100 h in 23 h"),
        (DAY, "100 h in 1 day (24 h on the clock)"),
        (36 * H, "100 h in 36 h"),
        (2 * DAY, "100 h in 2 days (48 h on the clock)"),
        (3 * DAY - H, "100 h in 2 days 23 h (71 h on the clock)"),
    ],
)
def test_how_the_time_that_passed_is_written(elapsed: int, message: str) -> None:
    """Hours on their own up to two days, unless whole days fit."""
    assert ask(Line(elapsed, 100 * H, WHOLE, Point(0, 0), None)).message == message


def week(dial: int, last: int, meter: Meter = WHOLE) -> Line:
    """A line of whole hours or units, a week after its last reading."""
    return Line(7 * DAY, dial * meter.step, meter, Point(0, last * meter.step), None)


OTHERS = [week(880, 800), week(5600, 5580)]


@pytest.mark.parametrize(
    ("lines", "pairs"),
    [
        pytest.param([week(7300, 7200), week(7450, 7400)], [], id="nothing is held"),
        pytest.param([week(9100, 7200), *OTHERS, week(7300, 9000)], [(0, 3)], id="one too fast, one backwards"),
        pytest.param([week(7300, 9000), *OTHERS, week(9100, 7200)], [(0, 3)], id="the other way round"),
        pytest.param([week(5120, 5000), *OTHERS, week(5010, 5020)], [(0, 3)], id="one held, one accepted"),
        pytest.param([week(9100, 7200), *OTHERS], [], id="no line fits"),
        pytest.param([week(7500, 7200), week(7500, 7400)], [], id="equal values explain nothing"),
        pytest.param(
            [week(9100, 7200), week(7300, 9000), week(7290, 9000)], [(0, 1), (0, 2)], id="two possible partners"
        ),
        pytest.param(
            [week(9100, 7200), Line(7 * DAY, 7300 * H, WHOLE, None, None)],
            [],
            id="a line never read before proves nothing",
        ),
        pytest.param(
            [week(9100, 7200), Line(7 * DAY, 7300 * H, STARTS, Point(0, 9000 * H), None)],
            [],
            id="hours and starts are not exchanged, however close the numbers",
        ),
    ],
)
def test_lines_whose_values_were_exchanged(lines: list[Line], pairs: list[tuple[int, int]]) -> None:
    """Both lines can be true with the values the other way round, and at least one cannot as it is."""
    assert find_swapped_lines(lines) == pairs


def test_a_held_partner_is_preferred_to_an_accepted_one() -> None:
    """The last line would fit too, but it is accepted as it stands."""
    too_fast, backwards = week(9100, 7200), week(7300, 9000)
    quiet = Line(7 * DAY, 7250 * H, WHOLE, Point(-100 * DAY, 7240 * H), None)
    assert find_swapped_lines([too_fast, quiet]) == [(0, 1)]
    assert find_swapped_lines([too_fast, backwards, quiet]) == [(0, 1)]


def test_a_tenths_value_cannot_have_been_read_from_a_whole_hours_dial() -> None:
    """The digits would not be there."""
    tenths = Line(7 * DAY, 73_005 * 360, TENTHS, Point(0, 90_000 * 360), None)
    assert find_swapped_lines([week(9100, 7200), tenths]) == []
    assert find_swapped_lines([week(9100, 7200), tenths._replace(dial=73_000 * 360)]) == [(0, 1)]


def test_exchanged_lines_with_dials_that_were_replaced() -> None:
    """What is exchanged is what was typed; each line keeps its own offset."""
    ae1 = Line(7 * DAY, 910 * H, WHOLE, Point(0, 18_200 * H), None, dial_offset=18_000 * H)
    ae2 = Line(7 * DAY, 300 * H, WHOLE, Point(0, 900 * H), None)
    assert find_swapped_lines([ae1, ae2]) == [(0, 1)]
    assert exchange_suggestion(("AE1", "AE2"), ae1, ae2) == Suggestion(
        "swapped-lines", 300 * H, "AE1 and AE2 exchanged? 300 (+100 h)"
    )


METER_CHOICE = st.sampled_from([WHOLE, TENTHS, MINUTES, STARTS])


@st.composite
def lines(draw: st.DrawFn) -> Line:
    """A typed value near to, or some digits away from, accepted readings that agree with each other."""
    meter = draw(METER_CHOICE)
    step, offset = meter.step, draw(st.integers(0, 3)) * 1000 * meter.step
    low = draw(st.integers(0, 30_000))
    spans = [draw(st.integers(60, 20 * DAY)) for _ in range(3)]
    rises = [draw(st.integers(0, span // step + 1)) for span in spans]
    earlier = Point(0, low * step + offset)
    before = Point(spans[0], earlier.total + rises[0] * step)
    after = Point(before.at + spans[1] + spans[2], before.total + (spans[1] + spans[2]) // step * step // 2)
    typed = draw(st.integers(max(low - 50, 0), low + sum(rises) + 50) | st.integers(0, 99_999))
    return Line(
        before.at + spans[1],
        typed * step,
        meter,
        draw(st.sampled_from([before, None])),
        draw(st.sampled_from([after, None])),
        offset,
        draw(st.sampled_from([earlier, None])),
    )


@given(lines())
def test_what_is_accepted_keeps_every_increase_possible(line: Line) -> None:
    """Never negative, and for hours never more than the clock and one step."""
    assume(ask(line).accepted)
    chain = [point for point in (line.before, line.point, line.after) if point is not None]
    for first, second in pairwise(chain):
        rise, elapsed = second.total - first.total, second.at - first.at
        assert rise >= 0
        assert line.meter.unit != "h" or rise <= elapsed + line.meter.step


@given(lines())
def test_every_suggestion_would_itself_be_accepted(line: Line) -> None:
    """No explanation is offered that cannot be true, and none for a reading that can."""
    judgement = ask(line)
    assert not (judgement.accepted and judgement.suggestions)
    for suggestion in judgement.suggestions:
        if suggestion.dial is None:
            assert ask(line._replace(before=line.earlier)).accepted
        else:
            assert suggestion.dial != line.dial
            assert ask(line._replace(dial=suggestion.dial)).accepted


@st.composite
def true_lines(draw: st.DrawFn) -> Line:
    """A whole-hours line of a week that is accepted, among totals close enough to be mistaken for each other."""
    last = draw(st.integers(5000, 5300))
    return week(last + draw(st.integers(0, 169)), last)


@given(true_lines(), true_lines(), st.lists(true_lines(), max_size=3))
def test_lines_that_were_exchanged_are_found(one: Line, other: Line, rest: list[Line]) -> None:
    """If the exchange shows at all; and every pair found is possible the other way round."""
    typed = [one._replace(dial=other.dial), *rest, other._replace(dial=one.dial)]
    ends = (0, len(typed) - 1)
    found = find_swapped_lines(typed)
    assert (ends in found) == bool(fault_of(typed[0]) or fault_of(typed[-1]))
    for first, second in found:
        assert fault_of(typed[first]) or fault_of(typed[second])
        assert not fault_of(typed[first]._replace(dial=typed[second].dial))
        assert not fault_of(typed[second]._replace(dial=typed[first].dial))
