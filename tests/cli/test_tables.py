"""Recipes are read from tables as people keep them, and what was made of them is said."""

import io
import json
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from advisor.cli.main import main

LINES = {"isethionate-powder": 55.0, "kaolin": 20.0, "betaine-30": 25.0}
Out = pytest.CaptureFixture[str]


def read(path: Path, capsys: Out, *more: str) -> tuple[dict[str, float], str]:
    """Return the percents of an assessed table, as weighed for a batch of 100 g, and what was said."""
    code = main(["weigh", str(path), "--batch", "100", "--balance", "0.01", "--json", *more])
    out = capsys.readouterr()
    assert code == 0, out.err
    return {line["material"]: line["grams"] for line in json.loads(out.out)["lines"]}, out.err


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        ("material,percent\nisethionate-powder,55\nkaolin,20\nbetaine-30,25\n", "utf-8"),
        ("material;percent\nisethionate-powder;55,0\nkaolin;20,00 %\nbetaine-30;25\n", "latin-1"),
        ("sep=;\nMaterial;Anteil\nisethionate-powder;55\nkaolin;20\nbetaine-30;25\n", "utf-8"),
        ('name,percent\nisethionate-powder,"55,0"\nkaolin,"20"\nbetaine-30,"25,0"\n', "utf-8-sig"),
        ("name,percent\nisethionate-powder,55,0\nkaolin,20,0\nbetaine-30,25,0\n", "utf-8"),
        ("Ingredient\tShare\nisethionate-powder\t55\nkaolin\t20\nbetaine-30\t25\n", "utf-16"),
        (
            "My bar\n\nmaterial;percent;note\nisethionate-powder;55;a\n;;\nkaolin;20;\nbetaine-30;25;\nTotal;100;\n",
            "utf-8",
        ),
        ("material,percent\nisethionate-powder,0.55\nkaolin,0.20\nbetaine-30,0.25\n", "utf-8"),
        ("isethionate-powder;55\nkaolin;20\nbetaine-30;25\n", "utf-8"),
        (
            "material;grams\nisethionate-powder;1.100,0 g\nkaolin;400 g\nbetaine-30;500 g\nSumme;2000\n",
            "utf-8",
        ),
    ],
)
def test_many_forms_are_one_recipe(text: str, encoding: str, tmp_path: Path, capsys: Out) -> None:
    path = tmp_path / "bar.csv"
    path.write_bytes(text.encode(encoding))
    assert read(path, capsys)[0] == LINES


ROWS = [
    ("Material", "Percent"),
    ("Kaolin", 20),
    ("isethionate-powder", 55),
    ("betaine-30", 25),
    ("Total", 100),
]
OFFICE = "http://schemas.openxmlformats.org"
OASIS = "urn:oasis:names:tc:opendocument:xmlns"


def xlsx() -> dict[str, str]:
    """Return the files of the smallest workbook that holds the rows."""

    def cell(value: object) -> str:
        if isinstance(value, str):
            return f'<c t="inlineStr"><is><t>{value}</t></is></c>'
        return f"<c><v>{value}</v></c>"

    rows = "".join(f"<row>{''.join(map(cell, row))}</row>" for row in ROWS)
    sheet = f"{OFFICE}/officeDocument/2006/relationships"
    return {
        "[Content_Types].xml": f'<Types xmlns="{OFFICE}/package/2006/content-types">'
        '<Default Extension="xml" ContentType="application/xml"/></Types>',
        "_rels/.rels": f'<Relationships xmlns="{OFFICE}/package/2006/relationships">'
        f'<Relationship Id="r1" Type="{sheet}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{OFFICE}/spreadsheetml/2006/main" xmlns:r="{sheet}">'
        '<sheets><sheet name="Bar" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{OFFICE}/package/2006/relationships">'
        f'<Relationship Id="r1" Type="{sheet}/worksheet" Target="worksheets/sheet1.xml"/></Relationships>',
        "xl/worksheets/sheet1.xml": f'<worksheet xmlns="{OFFICE}/spreadsheetml/2006/main">'
        f"<sheetData>{rows}</sheetData></worksheet>",
    }


def ods() -> dict[str, str]:
    """Return the files of the smallest open document that holds the rows."""

    def cell(value: object) -> str:
        if isinstance(value, str):
            return f'<table:table-cell office:value-type="string"><text:p>{value}</text:p></table:table-cell>'
        return f'<table:table-cell office:value-type="float" office:value="{value}"><text:p>{value}</text:p></table:table-cell>'

    rows = "".join(f"<table:table-row>{''.join(map(cell, row))}</table:table-row>" for row in ROWS)
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    return {
        "mimetype": kind,
        "META-INF/manifest.xml": f'<manifest:manifest xmlns:manifest="{OASIS}:manifest:1.0">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/></manifest:manifest>',
        "content.xml": f'<office:document-content xmlns:office="{OASIS}:office:1.0" xmlns:table="{OASIS}:table:1.0" '
        f'xmlns:text="{OASIS}:text:1.0"><office:body><office:spreadsheet><table:table table:name="Bar">{rows}</table:table>'
        "</office:spreadsheet></office:body></office:document-content>",
    }


@pytest.mark.parametrize("made", [xlsx, ods], ids=["xlsx", "ods"])
def test_spreadsheets_are_read(made: Callable[[], dict[str, str]], tmp_path: Path, capsys: Out) -> None:
    path = tmp_path / f"bar.{made.__name__}"
    with zipfile.ZipFile(path, "w") as archive:
        for name, text in made().items():
            archive.writestr(name, text)
    told, said = read(path, capsys)
    assert told == LINES and "Line 5 is a total" in said


def test_what_was_understood_is_said(tmp_path: Path, capsys: Out) -> None:
    path = tmp_path / "bar.csv"
    path.write_text("material,percent\nisethionate-powder,0.55\nkaolin,0.2\nbetaine-30,0.25\nTotal,1\n")
    said = read(path, capsys)[1]
    assert "Line 5 is a total and was left out." in said and "read as shares" in said


@pytest.mark.parametrize("factor", [0.62, 0.997, 1.1])
def test_percents_that_miss_a_hundred_are_made_it_on_request(
    factor: float, tmp_path: Path, capsys: Out
) -> None:
    path = tmp_path / "bar.csv"
    path.write_text("material,percent\n" + "".join(f"{key},{factor * one:g}\n" for key, one in LINES.items()))
    assert main(["assess", str(path)]) == 2
    assert "--normalise makes them 100" in capsys.readouterr().err
    told, said = read(path, capsys, "--normalise")
    assert told == pytest.approx(LINES, abs=0.02)
    assert "were made 100" in said


def test_a_table_comes_by_standard_input(monkeypatch: pytest.MonkeyPatch, capsys: Out) -> None:
    data = io.TextIOWrapper(io.BytesIO(b"material,percent\nkaolin,70\nwater,30\n"))
    monkeypatch.setattr("sys.stdin", data)
    assert main(["assess", "-", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["totals"]["powders"] == 70


def test_one_fault_is_told_once_at_its_line(tmp_path: Path, capsys: Out) -> None:
    path = tmp_path / "bar.csv"
    path.write_text("material,percent\nkaolin,70\nwater,thirty\n")
    assert main(["assess", str(path)]) == 2
    err = capsys.readouterr().err
    assert err.count("line 3") == 1 and len(err.splitlines()) == 2
