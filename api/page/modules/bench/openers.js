// The one place of the ways a recipe comes in: a sample, a pasted table, a file.

import { get } from "../api.js";
import { button, focusOn, h } from "../dom.js";
import { openSheet } from "../dialog.js";
import { complain, slot } from "../fields.js";
import { openRequest } from "../request.js";
import { state } from "../state.js";
import { asText, isArchive } from "../spreadsheet.js";
import { readTable, resolve } from "../table.js";
import { count, t } from "../known.js";
import { undoable } from "../undo.js";

/** Let the maker choose a sample; its answer is shown at once. */
export async function openSamples(bench) {
  const { body, close } = openSheet(t("open.samples"), { address: ["samples"] });
  try {
    const { items } = await get(document.documentElement.dataset.samples);
    body.append(
      h("p", {}, t("open.samples_about")),
      h(
        "ul",
        { class: "choices" },
        items
          .filter((item) => ["/v1/corrections", "/v1/additions", "/v1/assessments"].includes(item.path))
          .map((item) =>
            h(
              "li",
              {},
              button(
                [h("strong", {}, item.title), h("span", {}, item.about)],
                async () => {
                  await close();
                  await take(bench, item.request);
                },
                { class: "card" },
              ),
            ),
          ),
      ),
    );
  } catch {
    body.append(h("p", { class: "complaint" }, t("server.silent")));
  }
}

/** Open a request as the samples, the notebook and other tools write it. */
export async function take(bench, request) {
  const open = () => {
    openRequest(state, request);
    state.open = state.report ? "answer" : "happened";
  };
  if (state.recipe.lines.length) undoable(t("undo.opened"), open, bench.show);
  else open();
  await bench.show();
  bench.goTo(state.open);
}

/** Let the maker paste rows out of a spreadsheet. */
export function openPaste(bench) {
  const { body, close } = openSheet(t("open.paste"), { address: ["paste"] });
  const below = slot();
  const text = h("textarea", { rows: 8, id: "pasted", spellcheck: "false", placeholder: t("open.paste_example") });
  body.append(
    h("label", { for: "pasted" }, t("open.paste_about")),
    text,
    below,
    button(
      t("open.take"),
      async () => {
        const table = readTable(text.value);
        if (!table.lines.length) return complain(text, below, t("open.no_rows"));
        await close();
        return takeTable(bench, table);
      },
      { class: "primary" },
    ),
  );
  text.focus();
}

/** Let the maker open a file: a table, a spreadsheet, or a request as JSON. */
export function openFile(bench) {
  const input = h("input", {
    type: "file",
    accept: ".csv,.tsv,.txt,.json,.xlsx,.ods,text/csv,application/json",
    onchange: async () => {
      const file = input.files[0];
      if (!file) return;
      const text = await textOf(file).catch(() => "");
      if (!(await takeText(bench, text))) tellUnreadable(file.name);
    },
  });
  input.click();
}

/** What a file holds as text; what is not in UTF-8 is read as Windows writes it. */
async function textOf(file) {
  const bytes = await file.arrayBuffer();
  if (isArchive(bytes)) return asText(bytes);
  const [first, second] = new Uint8Array(bytes);
  const marked = first === 0xff && second === 0xfe ? "utf-16le" : first === 0xfe && second === 0xff ? "utf-16be" : "utf-8";
  try {
    return new TextDecoder(marked, { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder("windows-1252").decode(bytes);
  }
}

async function takeText(bench, text) {
  try {
    const request = JSON.parse(text);
    if (!Array.isArray(request?.recipe?.lines)) return false;
    await take(bench, request);
    return true;
  } catch {
    return takeTable(bench, readTable(text));
  }
}

function tellUnreadable(name) {
  openSheet(t("open.file")).body.append(h("p", { class: "complaint" }, t("open.unreadable", { name })));
}

/** Make a recipe of a table, to be taken back by one tap; false where no row holds a name and an amount. */
export async function takeTable(bench, { unit, lines, totals }) {
  if (!lines.length) return false;
  const resolved = await resolve(lines);
  const said = [count("open.taken", lines.length), totals ? t("open.total_left") : ""].filter(Boolean).join(" ");
  undoable(
    said,
    () => {
      state.recipe = { ...state.recipe, unit, lines: resolved };
      state.open = "dough";
    },
    bench.show,
  );
  bench.redraw();
  bench.changed();
  focusOn("#dough-title");
  return true;
}
