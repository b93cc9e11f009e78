"""A wish for confidence narrows the band, and says honestly what it reaches."""

from typing import Any

import pytest

import advisor

LINES = [
    ("isethionate-powder", 46.0),
    ("kaolin", 20.0),
    ("betaine-30", 24.0),
    ("glycerin", 5.0),
    ("jojoba-oil", 5.0),
]


def corrected(confidence: float | None, **band: float) -> Any:
    return advisor.correct(
        {
            "recipe": {"lines": [{"material": key, "percent": percent} for key, percent in LINES]},
            "report": {"feel": "too_wet", "degree": "slight"},
            "wishes": {"active": band, "confidence": confidence},
        }
    )


def chance(answer: Any, **band: float) -> float:
    """The same chance from the strength task, which knows nothing of the correction."""
    return advisor.strength({"recipe": answer.recipe.model_dump(), "band": band}).chance_in_band


def test_a_wide_band_reaches_the_confidence() -> None:
    band = {"min": 45.0, "max": 49.0}
    plain, sure = corrected(None, **band), corrected(0.9, **band)
    assert chance(plain, **band) < 0.9 <= chance(sure, **band)
    assert "90 % was wished" in next(note.text for note in sure.notes if note.id == "confidence")


def test_a_narrow_band_says_what_it_reaches() -> None:
    band = {"min": 45.0, "max": 46.0}
    sure = corrected(0.95, **band)
    reached = chance(sure, **band)
    assert reached < 0.95
    text = next(note.text for note in sure.notes if note.id == "confidence")
    assert f"{100 * reached:.0f} %" in text and "certificate" in text


def test_one_end_alone_moves_away_from_it() -> None:
    sure = corrected(0.95, min=45.0)
    assert chance(sure, min=45.0) >= 0.95
    assert sure.after.totals.active > corrected(None, min=45.0).after.totals.active


@pytest.mark.parametrize("confidence", [0.5, 0.7, 0.9])
def test_more_confidence_never_means_less(confidence: float) -> None:
    band = {"min": 43.0, "max": 48.0}
    assert chance(corrected(confidence, **band), **band) >= min(
        confidence, chance(corrected(0.5, **band), **band)
    )
