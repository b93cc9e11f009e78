"""Holds what made a newcomer hesitate in a maker's week: each is a tap away, said once, and fits a phone."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, expect

from page.browser import PHONE
from page.hand import Hand
from page.watch import Watch

BEYOND_THE_SURFACTANTS = re.compile("Acyl isethionates keep between pH 5 and 8")
_SHELF = (
    "SCI powder",
    "sulfoacetate",
    "kaolin",
    "CAPB",
    "glycerin",
    "jojoba",
    "cetyl alcohol",
    "phenoxyethanol",
)


def _typed(hand: Hand, fields: dict[str, str]) -> None:
    for name, text in fields.items():
        hand.page.get_by_label(name, exact=True).fill(text)


def _answered(hand: Hand) -> Locator:
    hand.tap("Ask")
    answer = hand.page.get_by_role("region", name="Answer")
    expect(answer).to_have_attribute("aria-busy", "false")
    return answer


def _sticks_out(place: Locator) -> list[str]:
    """Return the cells whose words end beyond the page or their table."""
    return list(
        place.evaluate(
            """(place) => [...place.querySelectorAll("th, td, dd")].filter((one) => {
                const range = document.createRange();
                range.selectNodeContents(one);
                const edge = Math.min(innerWidth, one.closest("section, .wide").getBoundingClientRect().right);
                return range.getBoundingClientRect().right > edge + 1 || one.scrollWidth > one.clientWidth + 1;
            }).map((one) => one.textContent)"""
        )
    )


def test_what_is_left_of_a_material_is_told_beside_its_stand_ins(hand: Hand) -> None:
    hand.open()
    hand.write_recipe()
    hand.page.get_by_role("button", name=re.compile("Too little of Cocamidopropyl")).click()
    sheet = hand.page.get_by_role("dialog")
    first = sheet.locator(".option").first
    expect(first).to_contain_text("24 → 0 %")
    sheet.get_by_label("How much of it is left?").fill("60")
    expect(first).to_contain_text("24 → 12 %")
    expect(first).to_contain_text("60 g")
    expect(sheet).not_to_contain_text("Stopped.")
    sheet.get_by_label("How much of it is left?").fill("")
    expect(first).to_contain_text("24 → 0 %")


def test_no_table_of_a_plan_is_cut_on_a_phone(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.open()
    hand.open_sample()
    hand.answered()
    for task in ("compare", "day", "cost", "look"):
        hand.open(f"#plan/{task}")
        answer = _answered(hand)
        hand.page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        assert _sticks_out(answer) == [], task


def test_figures_of_a_recipe_do_not_run_into_each_other(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.open()
    hand.write_recipe()
    hand.page.locator('[data-amount="0"]').fill("50.25")
    hand.page.locator('[data-amount="1"]').fill("19.75")
    assert hand.page.locator('[data-amount="0"]').evaluate("(one) => one.scrollWidth <= one.clientWidth")
    hand.say("mushy_in_use")
    hand.answered()
    assert _sticks_out(hand.page.locator(".recipe-table")) == []


def test_what_was_paid_is_typed_where_a_costing_asks_for_it(hand: Hand, watch: Watch) -> None:
    watch.refusals_expected = True
    hand.open()
    hand.write_recipe()
    hand.open("#plan/cost")
    answer = _answered(hand)
    expect(answer).to_contain_text("The prices of all materials are first guesses")
    hand.tap("Enter what you paid")
    kaolin = hand.page.get_by_label("Kaolin, white")
    expect(hand.page.get_by_label("Sodium cocoyl isethionate, fine powder")).to_be_focused()
    kaolin.fill("3o")
    hand.tap("Ask")
    expect(kaolin).to_have_attribute("aria-invalid", "true")
    for name in ("Sodium cocoyl isethionate, fine powder", "Cocamidopropyl betaine, 30 % active"):
        hand.page.get_by_label(name).fill("10")
    kaolin.fill("3,5")
    answer = _answered(hand)
    expect(answer).to_contain_text(
        re.compile(r"The prices of Glycerin and Phenoxyethanol[^.]* are first guesses")
    )
    batch = answer.locator(".part", has=hand.page.get_by_role("heading", name="Per batch"))
    # 250 g and 120 g at 10, 100 g at 3.50, and the library's 25 g at 4 and 5 g at 18.
    expect(batch).to_contain_text(re.compile(r"dough\s*4\.24", re.IGNORECASE))


def test_a_dose_says_once_what_to_pour_first(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.open("#plan/dose")
    for label, text in {"pH before": "7", "Dose added": "0.4", "pH after": "6.4"}.items():
        hand.page.get_by_label(re.compile(f"^{label}$", re.IGNORECASE)).fill(text)
    answer = _answered(hand)
    first = answer.locator(".part").first
    expect(first).to_have_text(re.compile(r"Pour first0\.35 grams of the same, into the test dough"))


def test_a_dose_names_what_is_poured_and_looks_at_the_recipe_on_the_bench(
    hand_at: Callable[..., Hand],
) -> None:
    hand = hand_at("phone")
    hand.open()
    hand.write_recipe()
    hand.open("#plan/dose")
    _typed(hand, {"pH before": "7.4", "Dose added": "0.4", "pH after": "6.4", "pH wanted": "4.6"})
    used = hand.page.get_by_role("combobox", name="Acid or alkali that was used")
    for name in ("lactic acid", "citric acid"):
        used.fill(name)
        expect(hand.page.locator(".found:not([hidden]) li").first).to_be_visible()
        used.press("Enter")
    expect(hand.page.locator(".told-list li")).to_have_text(re.compile("^Citric acid"))
    answer = _answered(hand)
    expect(answer.locator(".part").first).to_contain_text(re.compile(r"Pour first.*grams of Citric acid"))
    expect(answer).to_contain_text(BEYOND_THE_SURFACTANTS)
    hand.page.get_by_label("Recipe", exact=True).select_option("")
    expect(_answered(hand)).not_to_contain_text(BEYOND_THE_SURFACTANTS)


def test_what_is_said_besides_a_dose_is_two_notes_and_a_line(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.open("#plan/dose")
    _typed(hand, {"pH before": "7.4", "Dose added": "0.7", "pH after": "6.4"})
    answer = _answered(hand)
    fold = answer.locator("details", has_text=re.compile(r"\d more notes"))
    expect(fold).to_have_count(1)
    expect(fold.locator("li").first).not_to_be_visible()
    expect(answer).not_to_contain_text(re.compile(r"0\.\d{3}"))


def test_what_a_record_lacks_is_a_line_behind_its_copy(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.open()
    hand.write_recipe()
    hand.open("#label")
    record = hand.page.locator(".record-result")
    fold = record.locator("details", has_text=re.compile(r"\d+ things are still missing"))
    expect(fold).to_have_count(1)
    expect(fold.locator("li").first).not_to_be_visible()
    copy = record.get_by_role("button", name="Copy the record").bounding_box()
    missing = fold.bounding_box()
    assert copy and missing and copy["y"] < missing["y"]


def _record_filled_in(hand: Hand) -> Locator:
    """Fill a batch record in by hand, all lots and weights of it, and wait for its table."""
    hand.open()
    hand.write_recipe()
    hand.open("#label")
    hand.page.locator("summary", has_text="People, pH, lots").click()
    for one in hand.page.get_by_label(re.compile("^Weighed of")).all():
        one.fill("121,5")
    for one in hand.page.get_by_label(re.compile("^Lot of")).all():
        one.fill("2026-114-B")
    table = hand.page.locator(".record-lines")
    expect(table).to_contain_text("2026-114-B")
    expect(table.locator("td small").first).to_contain_text("%")
    return table


def test_a_record_filled_in_by_hand_keeps_room_for_the_names(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    table = _record_filled_in(hand)
    names = [box for one in table.locator("tbody th").all() if (box := one.bounding_box())]
    assert len(names) == 5
    assert min(box["width"] for box in names) >= 120
    assert hand.page.evaluate("document.documentElement.scrollWidth") <= PHONE[0]


@pytest.mark.parametrize("width", [320, PHONE[0]])
def test_a_record_filled_in_by_hand_stays_within_a_phone_in_large_letters(
    hand_at: Callable[..., Hand], width: int
) -> None:
    hand = hand_at("phone")
    hand.page.set_viewport_size({"width": width, "height": 640})
    table = _record_filled_in(hand)
    for percent in (100, 130, 160, 200):
        hand.page.evaluate("(size) => { document.documentElement.style.fontSize = size; }", f"{percent}%")
        assert hand.page.evaluate("document.documentElement.scrollWidth") <= width, percent
        assert _sticks_out(table) == [], percent


def test_a_lot_that_does_not_suffice_is_told_before_it_is_weighed(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    lot = f"{hand.url}v1/materials/betaine-30/lots/B-7"
    assert hand.page.request.put(lot, data={"stock_grams": 60}).ok
    hand.open()
    hand.write_recipe()
    line = hand.page.locator(".line", has_text="Cocamidopropyl")
    line.get_by_role("button").first.click()
    hand.page.get_by_role("button", name="Lot B-7").click()
    hand.open("#weigh")
    hand.page.get_by_label("Mass of the batch").fill("500")
    told = hand.page.locator(".weigh-sheet .box-warn", has_text="60 g in stock")
    expect(told).to_contain_text("enough for 50 % of the batch")
    first = hand.page.locator(".weigh-line").first
    expect(first).to_contain_text("Lot B-7")
    above, below = told.bounding_box(), first.bounding_box()
    assert above and below and above["y"] < below["y"]
    expect(hand.page.locator(".sheet-cautions")).not_to_contain_text("in stock")
    expect(hand.page.locator(".sheet-cautions")).to_contain_text(
        "Lot B-7 of Cocamidopropyl betaine has its own"
    )


def test_the_tasks_of_a_plan_are_one_row_on_a_phone_and_the_chosen_one_is_seen(
    hand_at: Callable[..., Hand],
) -> None:
    hand = hand_at("phone")
    hand.open()
    hand.write_recipe()
    for task in ("look", "dose", "strength"):
        hand.open(f"#plan/{task}")
        row = hand.page.get_by_role("navigation", name="What to plan")
        chosen = row.locator("[aria-current]")
        expect(chosen).to_be_in_viewport(ratio=0.9)
        assert len({box["y"] for one in row.get_by_role("link").all() if (box := one.bounding_box())}) == 1
        expect(hand.page.get_by_role("button", name="Ask")).to_be_visible()


def test_a_day_begins_with_two_batches_each_called_by_its_recipe(hand: Hand) -> None:
    hand.open()
    hand.write_recipe()
    hand.say("too_wet")
    hand.answered()
    hand.open("#plan/day")
    chosen = [
        hand.page.get_by_label(f"Batch {number}: recipe").locator("option:checked") for number in (1, 2)
    ]
    expect(chosen[0]).to_have_text("Your recipe")
    expect(chosen[1]).to_have_text("Your recipe, the next batch")
    answer = _answered(hand)
    expect(answer).to_contain_text("Batch 1, Your recipe:")
    expect(answer).to_contain_text("Batch 2, Your recipe, the next batch:")
    hand.page.get_by_label("Batch 2: recipe").select_option(label="none")
    hand.open("#plan/look")
    hand.open("#plan/day")
    expect(chosen[1]).to_have_text("none")


def test_trimmings_of_recipes_without_a_name_are_told_apart(hand: Hand) -> None:
    hand.open()
    hand.write_recipe()
    hand.open("#plan/rework")
    named = _answered(hand).locator(".verdict").first
    expect(named).to_contain_text(re.compile(r"Rework of bar of .*20\d\d$"))
    hand.tap("Add it to my recipe")
    hand.page.locator("[data-amount]").last.fill("5")
    hand.page.locator("[data-amount]").first.fill("45")
    hand.open("#plan/rework")
    expect(_answered(hand).locator(".verdict").first).to_contain_text(re.compile(r"20\d\d, 2$"))


def test_a_report_of_a_finished_bar_carries_no_signs_of_a_dough(hand: Hand) -> None:
    hand.open()
    hand.write_recipe()
    hand.say("too_wet")
    hand.page.locator('[data-sign="greasy"]').click()
    expect(hand.page.locator('[data-sign="greasy"]')).to_have_attribute("aria-pressed", "true")
    for feel in hand.page.locator(
        '[data-feel*="in_use"], [data-feel="wears_fast"], [data-feel="harsh"]'
    ).all():
        name = feel.get_attribute("data-feel")
        with hand.page.expect_request(
            lambda sent, name=name: f'"feel":"{name}"' in (sent.post_data or "")
        ) as asked:
            feel.click()
        assert asked.value.post_data_json["report"]["signs"] == []
        expect(hand.page.locator("[data-sign]")).to_have_count(0)
        expect(hand.page.get_by_text("Save the dough in the bowl")).to_have_count(0)
    hand.page.locator('[data-feel="too_dry"]').click()
    expect(hand.page.locator('[data-sign="greasy"]')).to_have_attribute("aria-pressed", "false")


def test_two_recipes_are_asked_for_before_they_are_compared(hand: Hand) -> None:
    hand.open()
    hand.write_recipe()
    hand.open("#plan/compare")
    expect(hand.page.get_by_text("There is only one recipe on this device.")).to_be_visible()
    expect(hand.page.get_by_role("button", name="Ask")).to_have_count(0)


def test_the_undo_bar_goes_with_its_view(hand: Hand) -> None:
    hand.open()
    hand.write_recipe()
    hand.unfold("Name, wishes, shelf, another recipe")
    hand.tap("Start with an empty recipe")
    expect(hand.page.locator(".undo")).to_have_count(1)
    hand.page.get_by_role("navigation", name="Pages").get_by_role("link", name="Notebook").click()
    expect(hand.page.get_by_role("heading", name="Notebook")).to_be_visible()
    expect(hand.page.locator(".undo")).to_have_count(0)


def test_a_new_bar_is_tried_or_taken_in_one_tap(hand: Hand, watch: Watch) -> None:
    watch.refusals_expected = True
    hand.open("#plan/draft")
    answer = _answered_lacking(hand)
    expect(answer).to_contain_text("Mild isethionate bar needs")
    expect(answer).to_contain_text("betaine or amphoacetate")
    for name in _SHELF:
        shelf = hand.page.get_by_role("combobox", name="What is on the shelf")
        shelf.fill(name)
        expect(hand.page.locator(".found:not([hidden]) li").first).to_be_visible()
        shelf.press("Enter")
    wanted = hand.page.get_by_role("combobox", name="What shall be in it")
    wanted.fill("rose clay")
    expect(hand.page.locator(".found:not([hidden]) li").first).to_be_visible()
    wanted.press("Enter")
    hand.page.get_by_label("Rose clay", exact=True).fill("8")
    answer = _answered(hand)
    options = answer.locator(".option")
    expect(options).to_have_count(2)
    for option in options.all():
        expect(option).to_contain_text("Good at:")
        expect(option).to_contain_text("Weak at:")
        expect(option.locator("tr", has_text="Rose clay")).to_contain_text(re.compile(r"8 %\s*4 g\s*40 g"))
        assert _sticks_out(option) == []
    assert hand.page.evaluate("document.documentElement.scrollWidth") <= max(
        PHONE[0], hand.page.viewport_size["width"]
    )
    hand.shot("plan-new-bars")
    hand.tap("Weigh a trial of 50 g", first=True)
    expect(hand.page.get_by_label("Mass of the batch")).to_have_value("50")
    expect(hand.page.locator(".weigh-line").first).to_be_visible()
    expect(hand.page.locator(".sheet-title")).to_contain_text("New")
    hand.page.go_back()
    answer = _answered(hand)
    hand.tap("Make it my recipe", first=True)
    expect(hand.page.locator("#dough h2")).to_contain_text("New")
    expect(hand.page.locator(".total")).to_contain_text("100 %: complete")


def _answered_lacking(hand: Hand) -> Locator:
    wanted = hand.page.get_by_role("combobox", name="What is on the shelf")
    wanted.fill("SCI powder")
    expect(hand.page.locator(".found:not([hidden]) li").first).to_be_visible()
    wanted.press("Enter")
    return _answered(hand)


def test_trimmings_become_a_line_that_is_found_again(hand: Hand) -> None:
    hand.open()
    hand.write_recipe()
    hand.open("#plan/rework")
    _answered(hand)
    hand.tap("Add it to my recipe")
    line = hand.page.locator(".line", has_text="Rework")
    line.locator("input").fill("15")
    hand.tap("Make it 100 %")
    expect(hand.page.locator(".total")).to_contain_text("100 %: complete")
    line.get_by_role("button", name="Rework").first.click()
    hand.tap("Take it out")
    hand.find("rework")
    expect(line).to_have_count(1)


def test_a_batch_without_a_name_is_no_row_of_letters(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.open()
    hand.write_recipe()
    hand.say("workable")
    hand.tap("Keep this dough")
    hand.tap("Keep it")
    hand.tap("To the rack")
    expect(hand.page.locator(".batch h3")).to_have_text(re.compile(r"^Batch of "))
    assert not re.search(r"[0-9a-f]{8}-", hand.page.get_by_role("region", name="Answer").inner_text())
