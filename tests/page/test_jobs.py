"""Does each main job from the empty page to its answer, on a phone and at a desk."""

import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import expect

from cli.test_tables import ods, xlsx
from page.hand import Hand

PASTED = "material\tpercent\nSCI powder\t50\nKaolin\t19,5\nCAPB\t24\nWillow dust\t0,5\nglycerin\t5\nphenoxyethanol-blend\t1\n"


def test_a_sample_is_corrected_in_four_taps_at_most(hand: Hand) -> None:
    hand.open()
    hand.shot("1-empty", full=False)
    hand.open_sample()
    hand.answered()
    assert hand.taps <= 4
    expect(hand.page.get_by_role("heading", name="Before you change it")).to_be_visible()
    assert hand.page.locator(".reason").count() == hand.page.locator(".moved").count() > 0
    hand.shot("2-answer")
    hand.save_bowl()


def test_an_own_recipe_is_written_and_corrected(hand: Hand) -> None:
    hand.open()
    hand.write_recipe()
    expect(hand.page.locator(".total")).to_contain_text("100 %: complete")
    hand.shot("3-written")
    hand.say("crumbling")
    expect(hand.page.get_by_role("heading", name="Leave the recipe as it is").first).to_be_visible()
    hand.page.locator('[data-sign="greasy"]').click()
    hand.tap("badly")
    expect(hand.page.get_by_text("lacks cohesion, not liquid").first).to_be_visible()
    hand.shot("4-told")


def test_answering_a_question_asks_again(hand: Hand) -> None:
    hand.open()
    hand.write_recipe()
    hand.say("too_dry")
    hand.answered()
    question = hand.page.get_by_role("group", name="How warm is the dough itself?")
    hand.page.locator(".chip summary", has_text="How warm is the dough?").click()
    question.get_by_role("button", name="40 °C").click()
    expect(question).to_have_count(0)
    expect(hand.page.locator(".advice").first).to_contain_text("40 °C")
    hand.page.locator(".told-list").get_by_role("button", name="Take back: Dough at 40 °C").click()
    expect(hand.page.locator(".chip summary", has_text="How warm is the dough?")).to_have_count(1)


def test_a_pasted_table_becomes_a_recipe(hand: Hand) -> None:
    hand.open()
    hand.tap("Paste a table")
    hand.page.get_by_label("Two columns from your spreadsheet").fill(PASTED)
    hand.tap("Take these lines")
    expect(hand.page.locator(".line")).to_have_count(6)
    unknown = hand.page.get_by_role("combobox", name="Which material is “Willow dust”?")
    unknown.fill("chalk")
    expect(hand.page.locator(".line .found li").first).to_be_visible()
    unknown.press("Enter")
    expect(hand.page.locator(".line-unknown")).to_have_count(0)
    hand.say("too_dry")
    hand.answered()


def test_a_file_in_grams_is_opened_and_the_bowl_needs_no_question(hand: Hand, tmp_path: Path) -> None:
    table = tmp_path / "pond-bar.csv"
    table.write_text(
        "material,grams\nisethionate-powder,100\nkaolin,40\nbetaine-30,48\nglycerin,10\nphenoxyethanol-blend,2\n"
    )
    hand.open()
    with hand.page.expect_file_chooser() as chooser:
        hand.tap("Open a file")
    chooser.value.set_files(table)
    expect(hand.page.locator(".total")).to_contain_text("200 g in all")
    hand.say("too_dry")
    hand.answered()
    expect(hand.page.locator(".stage").first).to_contain_text("g")


@pytest.mark.parametrize("made", [xlsx, ods], ids=["xlsx", "ods"])
def test_a_spreadsheet_is_opened(
    hand_at: Callable[..., Hand], made: Callable[[], dict[str, str]], tmp_path: Path
) -> None:
    sheet = tmp_path / f"bar.{made.__name__}"
    with zipfile.ZipFile(sheet, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in made().items():
            archive.writestr(name, text)
    hand = hand_at("phone")
    hand.open()
    with hand.page.expect_file_chooser() as chooser:
        hand.tap("Open a file")
    chooser.value.set_files(sheet)
    expect(hand.page.locator(".total")).to_contain_text("100 %: complete")
    expect(hand.page.locator(".line")).to_have_count(3)
    expect(hand.page.locator('[data-amount="1"]')).to_have_value("55")
    expect(hand.page.locator(".undo")).to_contain_text("A row with the total was left out.")


def test_a_paste_with_commas_shares_and_a_total_is_understood(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.open()
    hand.tap("Paste a table")
    paste = hand.page.get_by_label("Two columns from your spreadsheet")
    paste.fill("Zutat\tAnteil\nSCI powder\t0,50\n\nCAPB\t0,30\nKaolin\t0,197\nSumme\t0,997\n")
    hand.tap("Take these lines")
    expect(hand.page.locator(".line")).to_have_count(3)
    hand.tap("Make it 100 %")
    expect(hand.page.locator(".total")).to_contain_text("100 %: complete")
    expect(hand.page.locator('[data-amount="0"]')).to_have_value("50.1505")
    hand.tap("Undo")
    expect(hand.page.locator('[data-amount="0"]')).to_have_value("0,50")


def test_a_material_of_ones_own_joins_the_recipe(hand: Hand) -> None:
    hand.open()
    hand.page.locator(".adder input").fill("millet husk")
    expect(hand.page.locator(".adder .complaint")).to_contain_text("millet husk")
    hand.tap("Describe a material of my own")
    sheet = hand.page.get_by_role("dialog")
    expect(sheet.get_by_label("Name", exact=True)).to_have_value("millet husk")
    sheet.get_by_role("button", name="Use it").click()
    hand.page.locator('[data-amount="0"]').fill("20")
    for place, (name, percent) in enumerate((("SCI powder", "50"), ("CAPB", "30")), start=1):
        hand.find(name)
        hand.page.locator(f'[data-amount="{place}"]').fill(percent)
    hand.say("too_wet")
    hand.answered()


def test_a_missing_material_is_a_tap_from_its_line(hand: Hand) -> None:
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.open_line("Cocamidopropyl betaine")
    hand.tap("Too little left: find a stand-in")
    expect(hand.page.locator(".option").first).to_be_visible()
    hand.shot("5-missing", full=False)
    hand.tap("Make it a new recipe", first=True)
    expect(hand.page.locator("#dough h2")).to_contain_text("Mill Pond bar, with")
    expect(hand.page.locator(".lines")).not_to_contain_text("Cocamidopropyl betaine, 30")
    expect(hand.page.locator("#answer")).to_be_hidden()


def test_wishes_and_shelf_change_the_answer(hand: Hand) -> None:
    hand.open()
    hand.write_recipe()
    hand.unfold("Name, wishes, shelf, another recipe")
    hand.page.get_by_label("Strength at least").fill("56")
    shelf = hand.page.get_by_role("combobox", name="What else is on the shelf?")
    shelf.fill("sulfoacetate")
    expect(hand.page.locator(".shelf .found li").first).to_be_visible()
    shelf.press("Enter")
    expect(hand.page.locator(".shelf .told-list li")).to_have_count(1)
    hand.say("too_wet")
    hand.answered()
    expect(hand.page.locator(".pairs")).to_contain_text("Strength")


def test_weigh_sheet_keeps_its_ticks_and_fits_one_page(hand: Hand) -> None:
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.weigh()
    first = hand.page.locator(".weigh-line input").first
    first.check()
    expect(hand.page.locator(".progress")).to_contain_text("1 of 9")
    expect(hand.page.locator(".kept-back").first).to_contain_text("keep back")
    hand.page.reload()
    expect(hand.page.locator(".weigh-line input").first).to_be_checked()
    hand.shot("6-weigh")
    assert hand.pdf_pages() == 1


def test_another_recipe_does_not_weigh_the_last_one(hand: Hand) -> None:
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.weigh()
    hand.page.get_by_role("link", name="Bench").click()
    hand.change("Your dough")
    hand.unfold("Name, wishes, shelf, another recipe")
    hand.open_sample("Too dry")
    expect(hand.page.locator("#dough h2")).to_have_text("Granary bar")
    hand.answered()
    hand.page.get_by_role("link", name="Weigh").click()
    expect(hand.page.locator("#sheet-title")).to_have_text("Granary bar")


def test_a_slip_of_the_scoop_is_mended(hand: Hand) -> None:
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.weigh()
    hand.tap("Weighed too much?")
    hand.page.get_by_label("Really in the bowl").fill("130")
    hand.tap("What now?")
    expect(hand.page.get_by_role("heading", name="The smallest way out")).to_be_visible()
    expect(hand.page.locator(".slip-result .option")).to_have_count(2)


def test_weighings_of_a_bar_become_a_curve(hand: Hand) -> None:
    hand.open("#dry")
    hand.tap("By hours")
    for place, (hours, grams) in enumerate(
        (("0", "100"), ("12", "96,2"), ("24", "93,6"), ("48", "91"), ("96", "89,6"))
    ):
        hand.page.locator(f'[data-cell="{place}-hours"]').fill(hours)
        hand.page.locator(f'[data-cell="{place}-grams"]').fill(grams)
    expect(hand.page.get_by_role("heading", name="Dry after")).to_be_visible()
    expect(hand.page.locator(".curve-point")).to_have_count(5)
    hand.shot("7-drying")


def test_a_batch_beyond_what_was_learned_says_what_to_expect(hand: Hand) -> None:
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.weigh()
    sheet = hand.page.locator(".weigh-sheet")
    side_test = sheet.get_by_text("Work 100 g of it by this method beside the batch first")
    expect(side_test).to_have_count(0)
    with hand.page.expect_request("**/v1/weighings") as asked:
        hand.tap("by mixer")
    assert asked.value.post_data_json["method"] == "mixer"
    hand.page.get_by_label("Mass of the batch").fill("3000")
    expect(side_test).to_be_visible()
    expect(sheet.get_by_text("A mixer warms the dough")).to_be_visible()
    expect(sheet.locator(".hold-back ~ .weigh-phases")).to_be_visible()


def test_the_label_is_filled_from_the_record_and_the_shop(hand: Hand) -> None:
    hand.page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.tap("Label")
    label = hand.page.locator(".label-result")
    expect(label).to_contain_text("To fill in: batch number.")
    hand.page.get_by_label("Batch number").fill("M-12")
    expect(label).to_contain_text("Batch M-12")
    hand.unfold("Fill in what else it needs")
    hand.page.get_by_label("One bar weighs, when packed").fill("82,5")
    hand.page.get_by_label("Who answers for it: name and address").fill("Osier Works, Mill Lane 3")
    expect(label).to_contain_text("82.5 g")
    expect(label).to_contain_text("Osier Works, Mill Lane 3")
    hand.tap("Copy")
    copied = hand.page.evaluate("navigator.clipboard.readText()")
    assert "Batch M-12" in copied
    assert "Osier Works, Mill Lane 3" in copied
    hand.page.get_by_label("Where is the bar sold?").select_option("us")
    expect(label).to_contain_text("Net wt. 82.5 g")
    hand.open()
    hand.change("Your dough")
    hand.unfold("Name, wishes, shelf, another recipe")
    hand.open_sample("Too dry")
    hand.answered()
    hand.tap("Label")
    expect(label).to_contain_text("Osier Works, Mill Lane 3")
    expect(label).not_to_contain_text("M-12")


def test_label_and_record_can_be_copied(hand: Hand) -> None:
    hand.page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.tap("Label")
    expect(hand.page.locator(".copy-text")).to_contain_text("Sodium Cocoyl Isethionate")
    hand.tap("Copy")
    assert "Glycerin" in hand.page.evaluate("navigator.clipboard.readText()")
    hand.page.get_by_label("Mass of the batch").fill("500")
    hand.page.get_by_label("Batch number").fill("M-12")
    hand.tap("Copy the record")
    expect(hand.page.get_by_text("Copied").last).to_be_visible()
    hand.shot("8-label")


def test_a_dough_is_kept_judged_and_forgotten(hand: Hand) -> None:
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.tap("Keep this dough")
    hand.tap("Keep it")
    hand.tap("Look at the notebook")
    expect(hand.page.locator(".kept-dough")).to_have_count(1)
    hand.page.locator(".kept-dough").get_by_role("button", name="Label").click()
    expect(hand.page.locator(".kept-label .copy-text")).to_contain_text("Sodium Cocoyl Isethionate")
    expect(hand.page.locator(".kept-label")).to_contain_text("To fill in:")
    hand.tap("Outcome")
    hand.page.get_by_role("dialog").get_by_role("button", name="It works").click()
    expect(hand.page.locator(".kept-dough")).to_contain_text("in the end: It works")
    hand.tap("What they teach")
    expect(hand.page.locator(".narrowing")).to_be_visible()
    hand.shot("9-taught")
    hand.tap("What to try next")
    expect(hand.page.locator(".trial li").first).to_be_visible()
    hand.page.get_by_role("combobox", name="A powder to be used next").fill("rice flour")
    hand.page.get_by_role("option").first.click()
    expect(hand.page.locator(".trial")).to_contain_text("What Rice flour takes up is known within")
    hand.tap("Doughs")
    hand.tap("Open")
    hand.answered()
    expect(hand.page.locator(".wetting .window")).to_be_visible()
    hand.open("#notebook")
    hand.tap("Forget")
    expect(hand.page.locator(".kept-dough")).to_have_count(0)
    hand.tap("Undo")
    expect(hand.page.locator(".kept-dough")).to_have_count(1)
    hand.tap("Forget")
    expect(hand.page.locator(".kept-dough")).to_have_count(0)


def test_a_powder_is_measured(hand: Hand) -> None:
    hand.open("#notebook")
    hand.tap("What to try next")
    powder = hand.page.get_by_role("combobox", name="Which powder?")
    powder.fill({"phone": "kaolin", "desk": "tapioca"}[hand.name])
    expect(hand.page.locator(".found li").first).to_be_visible()
    powder.press("Enter")
    for place, grams in enumerate(("7,0", "7,4", "6,8"), start=1):
        hand.page.get_by_label(f"when the mass is smooth, repeat {place}").fill(grams)
    hand.tap("What does it say?")
    expect(hand.page.locator(".uptake .verdict")).to_contain_text("g/g")
    hand.tap("Keep it")
    expect(hand.page.get_by_text("Kept.")).to_be_visible()


def test_a_lot_is_written_down(hand: Hand) -> None:
    hand.open("#notebook")
    hand.tap("Materials and lots")
    material = hand.page.get_by_role("combobox", name="Lots of which material?")
    material.fill("CAPB")
    expect(hand.page.locator(".found li").first).to_be_visible()
    material.press("Enter")
    hand.tap("Add a lot")
    sheet = hand.page.get_by_role("dialog")
    sheet.get_by_label("Name of the lot").fill(f"B-{hand.name}")
    sheet.get_by_label("Active matter").fill("31,2")
    sheet.get_by_role("button", name="Keep it").click()
    expect(hand.page.locator(".lots")).to_contain_text("Active matter 31.2 %")
    hand.open()
    hand.open_sample()
    hand.change("Your dough")
    line = hand.page.locator(".line").filter(has_text="Cocamidopropyl betaine")
    line.locator(".line-name").click()
    line.get_by_role("button", name=f"Lot B-{hand.name}").click()
    expect(line.locator(".line-name")).to_contain_text(f"Lot B-{hand.name}")
