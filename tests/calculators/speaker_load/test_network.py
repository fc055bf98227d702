"""Textbook notation for networks: what is read, what is written, and what is refused with its position."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculators.notation.errors import NotationError
from calculators.notation.showing import list_names
from calculators.speaker_load.dc_network import find_resistance, join
from calculators.speaker_load.network import read_speaker_network, write_network


def spell(text: str) -> str:
    network = read_speaker_network(text)
    labels = [f"{speaker.name} {speaker.nominal:g}" for speaker in network.speakers]
    return write_network(network.tree, labels)


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("8", "S1 8"),
        ("left:8 || right:8 + shaker:4", "(left 8 || right 8) + shaker 4"),
        ("left : 8||right:8+shaker: 4", "(left 8 || right 8) + shaker 4"),
        ("left:8 || (right:8 + shaker:4)", "left 8 || (right 8 + shaker 4)"),
        ("((8 + 8)) || 4", "(S1 8 + S2 8) || S3 4"),
        ("(8 + 8) + 4", "S1 8 + S2 8 + S3 4"),
        ("8 ohm || 4R7 || 6,5 Ω || 16 R", "S1 8 || S2 4.7 || S3 6.5 || S4 16"),
        ("8 \u2126 ∥ 8 \u03a9", "S1 8 || S2 8"),
        ("3 x 8 || 4", "S1 8 || S2 8 || S3 8 || S4 4"),
        ("4 + 3x8", "S1 4 + S2 8 + S3 8 + S4 8"),
        ("2 × 8 + 4", "S1 8 + S2 8 + S3 4"),
        ("2 * 8 + 4", "S1 8 + S2 8 + S3 4"),
        ("1 x 8", "S1 8"),
        ("4 + (2 x 8 || 16)", None),
        ("4 + 16 || 2 x 8 || 16", "S1 4 + (S2 16 || S3 8 || S4 8 || S5 16)"),
        ("3 x 8 in parallel", "S1 8 || S2 8 || S3 8"),
        ("3 x 8 series", "S1 8 + S2 8 + S3 8"),
        ("2 x (8 + 8) in parallel", "(S1 8 + S2 8) || (S3 8 + S4 8)"),
        ("2 x (2 x 8 in series) in parallel", "(S1 8 + S2 8) || (S3 8 + S4 8)"),
        ("4 || (3 x 8 in series)", "S1 4 || (S2 8 + S3 8 + S4 8)"),
        ("2 x flank:8 || 4", "flank1 8 || flank2 8 || S1 4"),
        ("2 x (low:8 + high:4) in parallel", "(low1 8 + high1 4) || (low2 8 + high2 4)"),
        ("S1:8 || 8", "S1 8 || S2 8"),
        ("front left:8 || rear_right-2:8", "front left 8 || rear_right-2 8"),
        ("8 // 4", "S1 8 || S2 4"),
        ("4 + 8//8", "S1 4 + (S2 8 || S3 8)"),
        ("left 8", "left 8"),
        ("4 + rear left 8 ohm", "S1 4 + rear left 8"),
        ("left=8 || right = 8", "left 8 || right 8"),
        ("S1 8\u00a0Ω || S2 8\u00a0Ω", "S1 8 || S2 8"),
        ("8 parallel 8", "S1 8 || S2 8"),
        ("8 in parallel with 8", "S1 8 || S2 8"),
        ("8 in series with (8 // 4)", "S1 8 + (S2 8 || S3 4)"),
        ("2 x 8 in parallel with 4", "S1 8 || S2 8 || S3 4"),
        ("8 8 in parallel", "S1 8 || S2 8"),
        ("8,8 in parallel", "S1 8 || S2 8"),
        ("8 x 4 in parallel", "S1 4 || S2 4 || S3 4 || S4 4 || S5 4 || S6 4 || S7 4 || S8 4"),
        ("8, 8 and 4 all in series", "S1 8 + S2 8 + S3 4"),
        ("Two 8 ohm in parallel", "S1 8 || S2 8"),
        ("8 ohm x 3 in series", "S1 8 + S2 8 + S3 8"),
    ],
)
def test_notation_is_read(text: str, read: str | None) -> None:
    assert spell(text) == (read or "S1 4 + (S2 8 || S3 8 || S4 16)")


@pytest.mark.parametrize(
    ("text", "speakers"),
    [
        ("8 8 8 8", "S1 8, S2 8, S3 8, S4 8"),
        ("8, 8, 8, 8", "S1 8, S2 8, S3 8, S4 8"),
        ("8,8,8", "S1 8, S2 8, S3 8"),
        ("4 x 8", "S1 8, S2 8, S3 8, S4 8"),
        ("8 ohm x 4", "S1 8, S2 8, S3 8, S4 8"),
        ("6 x 8", "S1 8, S2 8, S3 8, S4 8, S5 8, S6 8"),
        ("8 and 4R7 & 6.5", "S1 8, S2 4.7, S3 6.5"),
        ("8 ohm,8 ohm", "S1 8, S2 8"),
        ("left:8 right:8", "left 8, right 8"),
        ("front left 8; rear 4", "front left 8, rear 4"),
        ("2 x flank:8, 4", "flank1 8, flank2 8, S1 4"),
        ("8 4", "S1 8, S2 4"),
    ],
)
def test_a_list_does_not_say_how_its_speakers_are_joined(text: str, speakers: str) -> None:
    network = read_speaker_network(text)
    assert not network.joined
    assert ", ".join(f"{speaker.name} {speaker.nominal:g}" for speaker in network.speakers) == speakers


def test_what_joins_is_no_list() -> None:
    assert all(
        read_speaker_network(text).joined for text in ("8", "1 x 8", "left 8", "8 || 8", "2 x 8 in series")
    )


# The words each refusal must hold; a position counts from 1.
@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("4 || (2 x 8)", "position 7: “2 x 8” does not say how the 2 are joined"),
        ("4 + 2 x 8 || 16", "position 5: “2 x 8” stands between + and ||"),
        ("16 || 2 x 8 + 4", "position 7: “2 x 8” stands between + and ||"),
        ("8 | 8", "position 3: a single | joins nothing"),
        ("8/8", "position 1: “8/8” can mean 8 || 8 or 1 ohm; write 8 || 8 or 1 ohm"),
        ("4 + 8/0", "position 5: “8/0” can mean 8 || 0; write 8 || 0"),
        ("4 || (2 x 8)", "position 7: “2 x 8” does not say how the 2 are joined; write “2 x 8 in parallel”"),
        ("8,8", "“8,8” can mean 8.8 ohm or two speakers; write 8.8 ohm or 8, 8"),
        ("4 8", "“4 8” can mean “4, 8” or “4 x 8”; write one of them"),
        ("2 8 ohm in parallel", "“2 8 ohm” can mean “2, 8 ohm” or “2 x 8 ohm”"),
        (
            "8 + 8 parallel 4",
            "“8 + 8 parallel 4” can mean “(8 + 8) || 4” or “8 + (8 || 4)”; write one of them",
        ),
        ("8 + (8 series 8 || 4) + 2", "“8 series 8 || 4” can mean “(8 + 8) || 4” or “8 + (8 || 4)”"),
        ("(8 + 8) parallel 4 + 4", "words between speakers do not say what is joined first"),
        ("8 x 4", "“8 x 4” can mean “8 x 4 ohm”, of which nothing says how they are joined, or “4 x 8 ohm”"),
        ("7 x 8", "how these 7 speakers are joined; write “7 x 8 in series” or “7 x 8 in parallel”"),
        ("4 x 8, 3 x 4", "write “4 x 8 + 3 x 4” or “4 x 8 || 3 x 4”"),
        ("2 x 8 x 2", "“8 x 2” is not read"),
        ("one 8", "does not begin with a number"),
        ("left and right 8", "does not begin with a number"),
        ("8 8 8 in the boot", "position 1: write + between speakers in series"),
        ("8,5 8", "position 1: write + between speakers in series"),
        ("8 + 8 8", "position 5: write + between speakers in series"),
        ("25 x 8", "position 1: a count goes from 1 to 24"),
        ("(8 + 8", "position 1: this bracket is not closed"),
        ("8 + 8)", "position 6: this bracket closes nothing"),
        ("8 ++ 8", "position 4: a speaker's impedance is missing before “+”"),
        ("8 ||", "position 5: a speaker's impedance is missing before the end"),
        ("()", "position 2: a speaker's impedance is missing before “)”"),
        (":8", "position 1: a name is missing"),
        ("a:", "position 3: a speaker's impedance is missing"),
        ("8 watt", "position 1: “8 watt” is a power, but a resistance is asked for"),
        ("(8 + 8)(4)", "position 8: “(” is not read here; join speakers by + or ||"),
        ("8 + 1,500", "position 5: “1,500” can mean 1500 or 1.5;"),
        ("8 m", "position 1: “8 m” is a length, but a resistance is asked for"),
        ("8 || eight", "position 6: “eight” does not begin with a number"),
        ("-8", "position 1: “-8” is not a speaker's impedance"),
        ("0", "position 1: “0” is not a speaker's impedance"),
        ("8 || 3k", "position 6: “3k” is not a speaker's impedance"),
        ("inf", "position 1: “inf” is not a figure"),
        ("nan", "position 1: “nan” is not a figure"),
        ("８", "position 1: the character “８” (U+FF18) is not read here"),
        ("8 + \u0000", "position 5: the character"),
        ("0 x 8 + 4", "position 1: a count goes from 1 to 24"),
        ("99999999 x 8 + 4", "position 1: a count goes from 1 to 24"),
        ("5 x (5 x 8 in series) in parallel", "position 1: more than 24 speakers"),
        ("20 x 8 + 5 x 8", "this is 25 speakers; at most 24"),
        ("0.49", "position 1: “0.49” is not a speaker's impedance"),
        ("2001", "position 1: “2001” is not a speaker's impedance"),
        ("8 + a2345678901234567:8", "is too long; at most 16 letters"),
        ("(((((((((((8)))))))))))", "position 11: brackets stand more than 10 deep"),
        ("left:8 || left:4", "two speakers are called “left” (position 11)"),
        ("2 x left:8 || left1:4", "two speakers would be called “left1”"),
        ("extraordinarily long name:8", "is too long; at most 16 letters"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_position(text: str, words: str) -> None:
    with pytest.raises(NotationError) as refused:
        read_speaker_network(text)
    assert words in str(refused.value)


@pytest.mark.parametrize(
    "text", ["0.51", "1999", "24 x 8 in parallel", "((((((((((8))))))))))", "a234567890123456:8"]
)
def test_what_is_just_within_the_limits_is_read(text: str) -> None:
    assert read_speaker_network(text).nominals


@given(st.text(alphabet="8x4 +|()ab:,.R*-in ohm\u2126", max_size=30))
def test_no_text_ends_in_another_error(text: str) -> None:
    try:
        network = read_speaker_network(text)
    except NotationError:
        return
    assert find_resistance(network.tree, network.nominals) > 0


TREES = st.recursive(
    st.sampled_from(["4", "8", "16", "4R7", "6.5"]),
    lambda inner: st.tuples(st.sampled_from([" + ", " || "]), st.lists(inner, min_size=2, max_size=3)),
    max_leaves=9,
)


type Tree = str | tuple[str, list[Tree]]


def write_tree(tree: Tree) -> str:
    if isinstance(tree, str):
        return tree
    sign, members = tree
    return "(" + sign.join(write_tree(member) for member in members) + ")"


@given(TREES)
def test_what_is_written_reads_as_the_same_network(tree: Tree) -> None:
    network = read_speaker_network(write_tree(tree))
    labels = [f"{speaker.name}:{speaker.nominal!r}" for speaker in network.speakers]
    assert read_speaker_network(write_network(network.tree, labels)).tree == network.tree


@given(st.integers(2, 12), st.sampled_from([" + ", " || "]))
def test_a_count_is_repetition(number: int, sign: str) -> None:
    counted = read_speaker_network(f"{number} x 8{sign}4")
    written = read_speaker_network(sign.join(["8"] * number) + f"{sign}4")
    assert counted == written
    word = "in series" if sign == " + " else "in parallel"
    alone = read_speaker_network(f"{number} x 8 {word}").tree
    assert alone == join("series" if sign == " + " else "parallel", list(counted.tree.members[:-1]))  # type: ignore[union-attr]


def test_lists_of_names() -> None:
    assert list_names(["a"]) == "a"
    assert list_names(["a", "b", "c"]) == "a, b and c"
    assert list_names(["a", "b", "c", "d", "e"]) == "a, b, c, d and 1 more"
