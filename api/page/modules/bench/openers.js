// The one place of the ways a recipe comes in: a sample, a pasted table, a file.

import { get } from "../api.js";
import { button, h } from "../dom.js";
import { openSheet } from "../dialog.js";
import { complain, slot } from "../fields.js";
import { openRequest } from "../request.js";
import { state } from "../state.js";
import { readTable, resolve } from "../table.js";
import { t } from "../known.js";
import { undoable } from "../undo.js";

/** Let the maker choose a sample; its answer is shown at once. */
export async function openSamples(bench) {
  const { body, close } = openSheet(t("open.samples"));
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
                () => {
                  close();
                  take(bench, item.request);
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
  const { body, close } = openSheet(t("open.paste"));
  const below = slot();
  const text = h("textarea", { rows: 8, id: "pasted", spellcheck: "false", placeholder: t("open.paste_example") });
  body.append(
    h("label", { for: "pasted" }, t("open.paste_about")),
    text,
    below,
    button(
      t("open.take"),
      async () => {
        if (await takeTable(bench, text.value)) close();
        else complain(text, below, t("open.no_rows"));
      },
      { class: "primary" },
    ),
  );
  text.focus();
}

/** Let the maker open a file: a table, or a request as JSON. */
export function openFile(bench) {
  const input = h("input", {
    type: "file",
    accept: ".csv,.tsv,.txt,.json,text/csv,application/json",
    onchange: async () => {
      const file = input.files[0];
      if (!file) return;
      const text = await file.text();
      if (!(await takeText(bench, text))) tellUnreadable(file.name);
    },
  });
  input.click();
}

async function takeText(bench, text) {
  try {
    const request = JSON.parse(text);
    if (!Array.isArray(request?.recipe?.lines)) return false;
    await take(bench, request);
    return true;
  } catch {
    return takeTable(bench, text);
  }
}

function tellUnreadable(name) {
  openSheet(t("open.file")).body.append(h("p", { class: "complaint" }, t("open.unreadable", { name })));
}

/** Make a recipe of a table; false where no row holds a name and an amount. */
export async function takeTable(bench, text) {
  const { unit, lines } = readTable(text);
  if (!lines.length) return false;
  const resolved = await resolve(lines);
  state.recipe = { ...state.recipe, unit, lines: resolved };
  state.open = "dough";
  bench.redraw();
  bench.changed();
  return true;
}
