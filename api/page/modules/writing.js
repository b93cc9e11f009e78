// The one place of how figures and days are written: as the server's settings say, and where they leave it open, as the browser's language does.

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const FORMS = { day: "%d %b %Y", month: "%b %d, %Y", year: "%Y-%m-%d" };
const FIGURE = /(?<![\w.,:/-])([+-]?\d+)\.(\d+)(?![\w:/-]|\.\d)/g;
const DAY = /(?<![\w-])\d{4}-\d\d-\d\d(?![\w-])/g;

let here = { decimal: ".", told: false, day: FORMS.year };

/**
 * Take how figures and days are written from the settings; what they leave open a language decides.
 * @param {{ decimal?: string | null, day?: string | null }} settings a sign, and a form of days as strftime takes it
 * @param {string} [language] as the browser names it
 */
export function writeAs({ decimal, day }, language) {
  here = { decimal: decimal ?? decimalOf(language), told: Boolean(decimal), day: day ?? dayOf(language) };
}

const decimalOf = (language) =>
  new Intl.NumberFormat(language).formatToParts(0.5).some(({ value }) => value === ",") ? "," : ".";

/** Days carry the name of their month, which cannot be read in two orders; where the year comes first there are none. */
const dayOf = (language) =>
  FORMS[new Intl.DateTimeFormat(language).formatToParts(0).find(({ type }) => type in FORMS)?.type ?? "year"];

/** The sign that parts decimals here, and whether the settings told it. */
export const decimals = () => here;

/** A number as it is typed here, every decimal of it. */
export const asTyped = (number) => String(number).replace(".", here.decimal);

/** A text with its figures and days as they are written here. */
export const written = (text) =>
  (here.decimal === "," ? text.replace(FIGURE, "$1,$2") : text).replace(DAY, (day) => dayAs(here.day, day));

/** A day such as 2031-03-09 without its year. */
export const monthDay = (day) => dayAs(here.day.replace(/\W*%Y\W?/, ""), day);

function dayAs(form, whole) {
  const [year, month, day] = whole.split("-");
  const parts = { "%Y": year, "%m": month, "%d": day, "%b": MONTHS[Number(month) - 1] };
  return parts["%b"] ? form.replace(/%\w/g, (part) => parts[part]) : whole;
}
