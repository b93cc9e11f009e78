// A spreadsheet as people keep it, xlsx or ods: an archive of XML, unpacked by the browser itself into rows of text.

import { asTyped } from "./writing.js";

const [END, ENTRY] = [0x06054b50, 0x02014b50];
const MOST_BYTES = 20_000_000;
const MOST_COLUMNS = 64;

/** Whether these bytes are an archive, as every xlsx and ods is. */
export const isArchive = (bytes) => new DataView(bytes).byteLength > 22 && new DataView(bytes).getUint32(0) === 0x504b0304;

/**
 * Read the first sheet as lines of cells with tabs between them, as a spreadsheet pastes them.
 * @type {(bytes: ArrayBuffer) => Promise<string>}
 */
export async function asText(bytes) {
  const entries = entriesOf(bytes);
  const xml = async (name) => {
    const entry = entries.get(name.replace(/^\//, ""));
    return entry ? new DOMParser().parseFromString(await unpacked(bytes, entry), "text/xml") : null;
  };
  const rows = entries.has("content.xml") ? openDocument(await xml("content.xml")) : await workbook(xml);
  return rows.map((row) => row.map((cell) => cell.replace(/\s+/g, " ").trim()).join("\t")).join("\n");
}

/** Where each part of the archive lies: the list at its end names them. */
function entriesOf(bytes) {
  const view = new DataView(bytes);
  let end = view.byteLength - 22;
  while (end >= 0 && view.getUint32(end, true) !== END) end -= 1;
  if (end < 0) throw new RangeError("no archive");
  const entries = new Map();
  let at = view.getUint32(end + 16, true);
  for (let left = view.getUint16(end + 10, true); left > 0 && view.getUint32(at, true) === ENTRY; left -= 1) {
    const [name, extra, comment] = [28, 30, 32].map((place) => view.getUint16(at + place, true));
    const entry = {
      packed: view.getUint16(at + 10, true) !== 0,
      size: view.getUint32(at + 20, true),
      start: view.getUint32(at + 42, true),
    };
    entries.set(new TextDecoder().decode(new Uint8Array(bytes, at + 46, name)), entry);
    at += 46 + name + extra + comment;
  }
  return entries;
}

/** The text of one part, no longer than a sheet of recipes can be. */
async function unpacked(bytes, { packed, size, start }) {
  const view = new DataView(bytes);
  const from = start + 30 + view.getUint16(start + 26, true) + view.getUint16(start + 28, true);
  const raw = new Blob([new Uint8Array(bytes, from, size)]).stream();
  const reader = (packed ? raw.pipeThrough(new DecompressionStream("deflate-raw")) : raw).getReader();
  const decoder = new TextDecoder();
  let text = "";
  for (let part = await reader.read(); !part.done; part = await reader.read()) {
    text += decoder.decode(part.value, { stream: true });
    if (text.length > MOST_BYTES) throw new RangeError("too large");
  }
  return text + decoder.decode();
}

const all = (place, name) => [...(place?.getElementsByTagNameNS("*", name) ?? [])];
const number = (text) => asTyped(Number(Number(text).toPrecision(12)));

/** The first sheet of an xlsx. */
async function workbook(xml) {
  const [first] = all(await xml("xl/workbook.xml"), "sheet");
  const id = [...(first?.attributes ?? [])].find(({ localName, prefix }) => prefix && localName === "id")?.value;
  const related = all(await xml("xl/_rels/workbook.xml.rels"), "Relationship").find((one) => one.getAttribute("Id") === id);
  const target = related?.getAttribute("Target") ?? "worksheets/sheet1.xml";
  const shared = all(await xml("xl/sharedStrings.xml"), "si").map(written);
  const sheet = await xml(target.startsWith("/") ? target : `xl/${target}`);
  return all(sheet, "row").map((row) => {
    const cells = [];
    for (const cell of all(row, "c")) cells[columnOf(cell.getAttribute("r")) ?? cells.length] = valueOf(cell, shared);
    return Array.from(cells, (cell) => cell ?? "");
  });
}

/** What is written in a cell or a shared text; how it is to be spoken is none of it. */
const written = (place) =>
  all(place, "t")
    .filter((one) => one.parentElement?.localName !== "rPh")
    .map((one) => one.textContent)
    .join("");

function valueOf(cell, shared) {
  const kind = cell.getAttribute("t") ?? "n";
  const value = all(cell, "v")[0]?.textContent ?? "";
  if (kind === "s") return shared[Number(value)] ?? "";
  if (kind === "inlineStr") return written(cell);
  return kind === "n" && value !== "" ? number(value) : value;
}

/** The place of a cell's column: "C7" stands third. */
function columnOf(name) {
  const letters = /^[A-Z]{1,2}(?=\d)/.exec(name ?? "")?.[0];
  return letters ? [...letters].reduce((sum, letter) => 26 * sum + letter.charCodeAt(0) - 64, 0) - 1 : undefined;
}

/** The first sheet of an ods. */
const openDocument = (content) =>
  all(all(content, "table")[0], "table-row").map((row) =>
    all(row, "table-cell").flatMap((cell) => {
      const named = (name) => [...cell.attributes].find(({ localName }) => localName === name)?.value;
      const value = named("value");
      const text = value === undefined ? all(cell, "p").map((one) => one.textContent).join(" ") : number(value);
      return Array(Math.min(Number(named("number-columns-repeated") ?? 1), MOST_COLUMNS)).fill(text);
    }),
  );
