"""Sound builds pass and unsafe ones do not: verdicts against lists of both."""

import pytest

from calculators import find_calculator, list_calculators
from tests.calculators.builds import Build, list_builds

MOST_CAUTIONED = 0.2
"""Of the sound builds: a caution that most of them carry would be read by nobody."""

SOUND = [(one.slug, build) for one in list_calculators() for build in list_builds(one.slug, "sound")]
UNSAFE = [(one.slug, build) for one in list_calculators() for build in list_builds(one.slug, "unsafe")]


def list_pressing(slug: str, build: Build) -> list[tuple[str, str]]:
    findings = find_calculator(slug).run(build.fields).findings
    return [(one.level, one.code) for one in findings if one.level != "note"]


@pytest.mark.parametrize("slug", sorted({slug for slug, _ in SOUND}))
def test_few_sound_builds_are_cautioned_and_none_is_stopped(slug: str) -> None:
    told = {build.why: list_pressing(slug, build) for one, build in SOUND if one == slug}
    stopped = {why: found for why, found in told.items() if any(level == "stop" for level, _ in found)}
    assert not stopped
    cautioned = {why: found for why, found in told.items() if found}
    assert len(cautioned) <= MOST_CAUTIONED * len(told), cautioned


@pytest.mark.parametrize("slug", sorted({slug for slug, _ in UNSAFE}))
def test_no_unsafe_build_holds(slug: str) -> None:
    held = [build.why for one, build in UNSAFE if one == slug and not list_pressing(slug, build)]
    assert not held


@pytest.mark.parametrize("listed", [SOUND, UNSAFE], ids=["sound", "unsafe"])
def test_every_build_is_one_of_its_own_and_has_a_reason(listed: list[tuple[str, Build]]) -> None:
    assert len({(slug, *sorted(build.fields.items())) for slug, build in listed}) == len(listed)
    assert all(len(build.why.split()) > 3 for _, build in listed)


def test_the_lists_are_long_enough_to_mean_something() -> None:
    assert len(SOUND) >= 200
    assert len(UNSAFE) >= 100
