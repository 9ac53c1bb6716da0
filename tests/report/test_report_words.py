"""How times, lengths and likelihoods read."""

from __future__ import annotations

import pytest

from nestwatch.report import words


@pytest.mark.parametrize(
    ("metres", "metric", "imperial"),
    [
        # Imperial by the international inch of 25.4 mm: 2.70 m = 106.30 in, 0.72 m = 28.35 in.
        (2.70, "2.70 m", "8 ft 10½ in"),
        (0.72, "0.72 m", "2 ft 4½ in"),
        (0.3048, "0.30 m", "1 ft 0 in"),
        (0.0, "0.00 m", "0 ft 0 in"),
        (0.0127, "0.01 m", "0 ft ½ in"),
        (-0.3175, "-0.32 m", "-1 ft ½ in"),
        (1.8288 - 0.001, "1.83 m", "6 ft 0 in"),
    ],
)
def test_length(metres: float, metric: str, imperial: str) -> None:
    assert words.length(metres, "metric") == metric
    assert words.length(metres, "imperial") == imperial


@pytest.mark.parametrize(
    ("metres", "metric", "imperial"),
    [(0.06, "6 cm", "2½ in"), (0.061, "7 cm", "2½ in"), (0.0254, "3 cm", "1 in"), (0.001, "1 cm", "½ in")],
)
def test_nearness_is_rounded_up(metres: float, metric: str, imperial: str) -> None:
    assert words.nearness(metres, "metric") == metric
    assert words.nearness(metres, "imperial") == imperial


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0, "none"),
        (0.4, "1 s"),
        (14, "14 s"),
        (59.9, "1 min"),
        (1800, "30 min"),
        (7440, "2 h 04 min"),
        (32400, "9 h"),
    ],
)
def test_duration(seconds: float, text: str) -> None:
    assert words.duration(seconds) == text


def test_no_likelihood_reads_as_certain() -> None:
    assert words.percent(1.0) == "99 %"
    assert words.percent(0.0) == "1 %"
    assert words.percent(0.934) == "93 %"


def test_sureness_rises_with_the_likelihood() -> None:
    told = [words.sureness(n / 100) for n in range(101)]
    assert list(dict.fromkeys(told)) == ["very unlikely", "unlikely", "possible", "likely", "very likely"]


def test_shell() -> None:
    assert words.shell(16.1, "metric") == "16.1 cm"
    assert words.shell(16.1, "imperial") == "6.3 in"


def test_offset_is_shown_on_nights_when_the_clocks_change() -> None:
    changed = {"from": "2026-10-24T16:00:00+02:00", "to": "2026-10-25T09:00:00+01:00"}
    assert words.clocks_change(changed)
    assert not words.clocks_change({**changed, "to": "2026-10-25T09:00:00+02:00"})
    first, second = "2026-10-25T02:30:00+02:00", "2026-10-25T02:30:00+01:00"
    assert words.span(first, second, offset=True) == "02:30 (UTC+02:00)–02:30 (UTC+01:00)"
    assert words.seconds_between(first, second) == 3600
