"""The playing order against cases worked by hand, by common practice.

A score is written as one word list a measure: ``|:`` and ``:|`` signs, ``:|x3`` with a number of
times, ``[1`` an ending that begins, ``1`` one that goes on, ``1]`` one that ends, ``[1]`` both;
``dc``, ``ds``, ``segno``, ``fine``, ``coda``, ``tocoda``; ``||`` a double bar at the right edge;
``key=2`` a new signature; ``beats=1`` a length other than the four beats of the signature.
"""

from __future__ import annotations

import re
import time
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.score.playing_order import MAX_PLAYED, playing_order, trio_starts
from core.score.score import Measure, RawDirection

FLAGS: dict[str, dict[str, object]] = {
    "|:": {"repeat_start": True},
    ":|": {"repeat_end": True, "barline": "light-heavy"},
    "dc": {"jump": "dacapo"},
    "ds": {"jump": "dalsegno"},
    "segno": {"has_segno": True},
    "fine": {"has_fine": True},
    "coda": {"has_coda": True},
    "tocoda": {"has_to_coda": True},
    "||": {"barline": "light-light"},
}


def measures(*words: str) -> list[Measure]:
    made: list[Measure] = []
    onset, fifths = 0, 0
    for index, signs in enumerate(words):
        fields: dict[str, object] = {"duration": 4}
        for word in signs.split():
            fields |= _fields(word)
        fifths = fields.setdefault("fifths", fifths)  # type: ignore[assignment]
        made.append(
            Measure(
                index=index,
                id=f"m{index}",
                number=str(index + 1),
                onset=onset,
                signature="4/4",
                nominal_duration=4,
                **fields,  # type: ignore[arg-type]
            )
        )
        onset += made[-1].duration
    return made


def _fields(word: str) -> dict[str, object]:
    if word in FLAGS:
        return FLAGS[word]
    if word.startswith(":|x"):
        return {"repeat_end": True, "repeat_times": int(word[3:])}
    if word.startswith("key="):
        return {"fifths": int(word[4:])}
    if word.startswith("beats="):
        return {"duration": int(word[6:])}
    ending = re.fullmatch(r"(\[?)([\d,]+)(\]?)", word)
    assert ending, f"no such sign: {word}"
    return {
        "endings": tuple(int(number) for number in ending[2].split(",")),
        "ending_starts": bool(ending[1]),
        "ending_stops": bool(ending[3]),
    }


def order(*words: str, trios: tuple[int, ...] = ()) -> str:
    """The playing order as one digit or letter a measure (10 is a)."""
    digits = "0123456789abcdefghijklmnopqrstuvwxyz"
    found = playing_order(measures(*words), trios=trios)
    return "".join(digits[index] for index in found.measure_indices)


def rules(*words: str) -> list[tuple[int, str]]:
    found = playing_order(measures(*words))
    return [(repair.measure_index, repair.rule) for repair in found.repairs]


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ([], ""),
        (["", "", ""], "012"),
        (["", "|:", ":|", ""], "012123"),
        (["|: :|", ""], "001"),
        (["", ":|", "|:", ":|", ""], "010123234"),
        (["|:", ":|x3"], "010101"),
        (["|:", ":|x1", ""], "012"),
        (["|:", "|:", ":|", ":|"], "01212301212" + "3"),
    ],
)
def test_repeat_signs(words: list[str], expected: str) -> None:
    assert order(*words) == expected


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (["|:", "[1] :|", "[2]", ""], "01023"),
        (["|:", "[1", "1] :|", "[2", "2]", ""], "012" + "0345"),
        (["|:", "[1] :|", "[2] :|", "[3]", ""], "01" + "02" + "034"),
        (["|:", "[1,2] :|", "[3]", ""], "0101023"),
        (["|:", "[1,3] :|", "[2] :|", "[4]"], "01" + "02" + "01" + "03"),
        # The second ending is not bracketed at all.
        (["|:", "[1] :|", "", ""], "01023"),
        # The endings begin at once.
        (["|: [1] :|", "[2]"], "01"),
        # The second ending begins the next repeat.
        (["|:", "[1] :|", "|: [2]", ":|"], "01" + "0" + "23" + "23"),
    ],
)
def test_endings(words: list[str], expected: str) -> None:
    assert order(*words) == expected


def test_an_ending_without_its_sign_leads_back() -> None:
    words = ["|:", "[1]", "[2]", ""]
    assert order(*words) == "01023"
    assert rules(*words) == [(1, "The ending has no sign back; it leads back all the same.")]


def test_a_bracket_too_short_reaches_to_the_sign() -> None:
    assert order("|:", "[1]", ":|", "[2]", "") == "01203" + "4"


def test_endings_that_all_lead_back_are_played_once_each() -> None:
    words = ["|:", "[1] :|", "[2] :|", ""]
    assert order(*words) == "01023"
    assert rules(*words) == [(2, "The last ending leads back; it closes the repeat.")]


@pytest.mark.parametrize(
    ("words", "expected", "printed_number"),
    [
        # After the last repeat with its endings.
        (["|:", "[1] :|", "[2]", "", ":|"], "01" + "02" + "3434", 4),
        (["", "||", "", ":|", ""], "0123" + "234", 3),
        (["", "", "key=-3", ":|", ""], "0123" + "234", 3),
    ],
)
def test_a_missing_start_sign(words: list[str], expected: str, printed_number: int) -> None:
    assert order(*words) == expected
    (repair,) = rules(*words)
    assert repair[1] == f"The repeat has no start sign; it goes back to measure {printed_number}."


def test_from_the_beginning_nothing_is_missing() -> None:
    assert rules("", ":|", "") == []


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (["", "fine", "", "dc"], "0123" + "01"),
        (["", "segno", "fine", "ds"], "0123" + "12"),
        (["", "tocoda", "", "dc", "coda", ""], "0123" + "01" + "45"),
        (["", "segno", "tocoda", "ds", "coda", ""], "0123" + "12" + "45"),
        # Two coda signs, no words: the first one is where to leave.
        (["", "coda", "", "dc", "coda", ""], "0123" + "01" + "45"),
        # After a jump no repeat is taken, and the last ending is.
        (["|:", "[1] :|", "[2] fine", "", "dc"], "01" + "0234" + "02"),
        # The jump waits for the repeat to be done.
        (["", "fine", "|:", ":| dc"], "01" + "2323" + "01"),
        # In the coda repeats are taken again.
        (["tocoda", "dc ||", "coda |:", ":|", ""], "01" + "0" + "2323" + "4"),
        # The segno drawn in the words of the D.S. is not the one to go to.
        (["", "segno", "fine", "ds segno"], "0123" + "12"),
        # D.S. al Coda, and in the coda a D.C. al Fine.
        (["fine", "segno", "tocoda", "ds", "coda", "dc"], "0123" + "12" + "45" + "0"),
        # Two trios: the minuet after each; Fine counts the last time.
        (["fine ||", "", "dc ||", "", "dc"], "012" + "0" + "34" + "0"),
        # A Fine without a jump changes nothing.
        (["", "fine", ""], "012"),
    ],
)
def test_jumps(words: list[str], expected: str) -> None:
    assert order(*words) == expected


def test_words_printed_before_the_end_of_the_part_belong_to_it() -> None:
    assert order("", "fine ||", "|:", "dc", "", ":|") == "01" + "23452345" + "01"


def test_da_capo_leaves_an_upbeat_out_that_its_measure_holds() -> None:
    assert order("beats=1", "fine", "beats=4 dc") == "012" + "1"
    assert order("beats=1", "fine", "beats=3 dc") == "012" + "01"


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        # A minuet of two repeated strains and a trio of two, all in one key.
        (["|:", ":|", "|:", ":|", "|:", ":|", "|:", ":| dc"], "0101232345456767" + "0123"),
        # The trio in another key.
        (["|:", ":|", "|: key=1", ":| dc"], "01012323" + "01"),
        (["", "", "||", "", "", "dc"], "012345" + "012"),
        # A double bar tells more than repeats do.
        (["|:", ":|", "", "||", "|:", ":| dc"], "0101" + "23" + "4545" + "0123"),
        # What stands behind the D.C. is a coda.
        (["|:", ":|", "|: key=1", ":| dc", "", ""], "01012323" + "01" + "45"),
        # No part can be told: all of it again.
        (["", "dc"], "0101"),
    ],
)
def test_da_capo_without_fine(words: list[str], expected: str) -> None:
    assert order(*words) == expected
    assert rules(*words)[-1][1].startswith("No Fine is printed; the first part ends with measure")


def test_the_word_trio_tells_where_the_first_part_ends() -> None:
    words = ["|:", ":|", "", "", "|:", ":|", "|:", ":| dc"]
    assert order(*words, trios=(3,)).endswith("7" + "012")


def test_the_upbeat_of_the_trio_belongs_to_it() -> None:
    words = ["", "beats=3 :|", "|: beats=1", "", "beats=3 :| dc"]
    assert order(*words, trios=(3,)).endswith("4" + "01")


def test_trio_is_found_among_the_directions() -> None:
    texts = ["Trio.", "TRIO", "Triolen", "Maggiore", "Alternativo"]
    directions = [
        RawDirection(id=f"d{i}", measure_index=i, onset=0, part=0, staff=1, kind="words", text=text)
        for i, text in enumerate(texts)
    ]
    assert trio_starts(directions) == {0, 1, 4}


def test_dal_segno_without_segno_goes_to_the_first_start_sign() -> None:
    words = ["", "|:", ":| fine", "ds"]
    assert order(*words) == "012123" + "12"
    assert rules(*words) == [(3, "There is no segno before the D.S.; it goes to measure 2.")]


def test_a_jump_to_its_own_measure_is_left_out() -> None:
    assert order("dc", "", "", "") == "0123"
    assert rules("dc", "", "", "") == [
        (0, "The jump leads back to its own measure; it is left out.")
    ]


def test_repeats_within_repeats_without_end_are_given_up() -> None:
    # 32 to the power of four times.
    words = ["|:"] * 4 + [""] + [":|x32"] * 4
    assert order(*words) == "012345678"
    assert rules(*words) == [
        (0, f"The signs lead to more than {MAX_PLAYED} measures; taken as written, once.")
    ]


def test_time_grows_with_the_length_only() -> None:
    begun = time.process_time()
    playing_order(measures(*["|:", "", "", ":|"] * 1_250, "fine", "dc"))
    assert time.process_time() - begun < 1.0


ANY_SIGNS = st.lists(
    st.lists(
        st.sampled_from([*FLAGS, ":|x3", ":|x999", "[1", "1", "1]", "[1]", "[2]", "[1,2]", "[3"]),
        max_size=4,
    ).map(" ".join),
    max_size=14,
)


@settings(deadline=None, max_examples=400)
@given(words=ANY_SIGNS)
def test_any_signs_give_an_order(words: list[str]) -> None:
    found = playing_order(measures(*words))
    assert len(found.measure_indices) <= MAX_PLAYED
    assert set(found.measure_indices) <= set(range(len(words)))
    assert found.measure_indices[:1] == ((0,) if words else ())


@settings(deadline=None, max_examples=200)
@given(words=ANY_SIGNS)
def test_without_jumps_and_endings_every_measure_sounds(words: list[str]) -> None:
    plain = [" ".join(w for w in signs.split() if w in ("|:", ":|", ":|x3")) for signs in words]
    found = playing_order(measures(*plain)).measure_indices
    assert sorted(set(found)) == list(range(len(words)))
    # Forward by one measure, or back to an earlier one; nothing is leapt over.
    assert all(later <= earlier + 1 for earlier, later in pairwise(found))
