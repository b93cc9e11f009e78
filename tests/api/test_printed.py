"""Weigh sheets, labels and batch records are printed as text, Markdown or a page."""

import json
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
SHEETS = {
    "weighings": ("weigh-sheet-on-two-balances", "Kingfisher bar"),
    "labels": ("label-of-the-heron-bar", "Sodium Cocoyl Isethionate"),
    "batch-records": ("record-of-batch-41", "Batch record"),
}


class Strict(HTMLParser):
    """Collects what a strict policy would refuse."""

    def __init__(self) -> None:
        super().__init__()
        self.refused: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        if tag in ("script", "style") or "style" in names or any(name.startswith("on") for name in names):
            self.refused.append(tag)


@pytest.mark.parametrize("call", SHEETS)
@pytest.mark.parametrize("form", ["text/plain", "text/markdown", "text/html"])
def test_a_form_to_print(client: Any, call: str, form: str) -> None:
    name, told = SHEETS[call]
    body = json.loads((SAMPLES / f"{name}.json").read_text(encoding="utf-8"))
    answer = client.post(f"/v1/{call}", json=body, headers={"Accept": form})
    assert answer.status_code == 200
    assert answer.headers["content-type"] == f"{form}; charset=utf-8"
    assert "Accept" in answer.headers["vary"]
    assert told in answer.text
    if form == "text/html":
        page = Strict()
        page.feed(answer.text)
        assert not page.refused
        assert "style-src 'self'" in answer.headers["content-security-policy"]
        assert client.get("/static/styles/paper.css").status_code == 200


@pytest.mark.parametrize("call", SHEETS)
def test_what_cannot_be_printed_is_refused(client: Any, call: str) -> None:
    body = json.loads((SAMPLES / f"{SHEETS[call][0]}.json").read_text(encoding="utf-8"))
    answer = client.post(f"/v1/{call}", json=body, headers={"Accept": "application/pdf"})
    assert answer.status_code == 406
    assert client.post("/v1/corrections", json={}, headers={"Accept": "text/html"}).status_code == 406


def test_names_are_escaped(client: Any) -> None:
    lines = [{"material": "kaolin", "percent": 70}, {"material": "water", "percent": 30}]
    body = {"recipe": {"name": "<script>&\"'", "lines": lines}, "batch_grams": 100, "balance_step": 0.1}
    text = client.post("/v1/weighings", json=body, headers={"Accept": "text/html"}).text
    assert "<script>" not in text and "&lt;script&gt;" in text


def test_a_weigh_sheet_may_be_in_ounces(client: Any) -> None:
    body = json.loads((SAMPLES / "weigh-sheet-on-two-balances.json").read_text(encoding="utf-8"))
    printed = {
        units: client.post(f"/v1/weighings?units={units}", json=body, headers={"Accept": "text/plain"}).text
        for units in ("g", "oz")
    }
    assert "750 g" in printed["g"]
    assert "26.4" in printed["oz"]
    assert client.post("/v1/weighings?units=oz", json=body).json()["total_grams"] == 750
    assert client.post("/v1/weighings?units=stone", json=body).status_code == 422
    assert client.post("/v1/labels?units=oz", json={}).status_code == 422
