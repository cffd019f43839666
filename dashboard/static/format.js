// Numbers and words for people. Rounds for the eye; works nothing out.

export const words = JSON.parse(document.getElementById("words").textContent);
const language = document.documentElement.lang || "en";

const formats = [0, 1, 2].map(
  (digits) =>
    new Intl.NumberFormat(language, {
      minimumFractionDigits: digits,
      maximumFractionDigits: digits,
      useGrouping: false,
    }),
);

/** No more digits than the standard uncertainty bears out; one where it is not known. */
export function digitsFor(sd) {
  if (sd == null) return 1;
  return sd < 0.095 ? 2 : sd < 0.95 ? 1 : 0;
}

export function number(value, digits = 0) {
  const text = formats[digits].format(value);
  return /[1-9]/.test(text) ? text : text.replace(/^[-\u2212]/, ""); // no "-0.0"
}

/** Whether a trial's result is that the boat went down. */
export const wentDown = (result) => ["swamped", "heeled", "leaked"].includes(result?.outcome);

/** Put values into the holes of a sentence: fill("{n} g", {n: 3}). */
export function fill(sentence, values) {
  return sentence.replace(/\{(\w+)\}/g, (hole, key) => values[key] ?? hole);
}

/** "80.2 g ± 0.3 g", or without the uncertainty where there is none. */
export function grams(load_g, load_g_sd) {
  if (load_g == null) return "";
  const digits = digitsFor(load_g_sd);
  const load = number(load_g, digits);
  if (load_g_sd == null) return fill(words.board.grams, { load });
  return fill(words.board.grams_sd, { load, sd: number(load_g_sd, digits) });
}

/** The item's name for a count, by the rules of English, without a remark in brackets. */
export function itemName(item, count) {
  const name = (item?.name ?? "").replace(/\s*\(.*\)$/, "");
  if (count === 1 || /s$/i.test(name)) return name;
  if (/[^aeiou]y$/i.test(name)) return name.replace(/y$/i, "ies");
  return /(ch|sh|x|z)$/i.test(name) ? `${name}es` : `${name}s`;
}

/** "61 washers", or grams where the rig knows no item. */
export function load(item, items, load_g) {
  if (items != null) return `${number(items)} ${itemName(item, items)}`;
  return grams(load_g, null);
}

/** Whether a count is not sure, and so has a range. */
const unsure = (low, high) => low != null && high != null && low !== high;

/** "31 washers", "31 washers (30 to 32)" where that is not sure, or grams. */
export function held(item, { held_items, held_items_low, held_items_high, held_g }) {
  const text = item || held_items == null ? load(item, held_items, held_g) : number(held_items);
  if (held_items == null || !unsure(held_items_low, held_items_high)) return text;
  return fill(words.board.range, { items: text, low: number(held_items_low), high: number(held_items_high) });
}

/** For children: "It may be 30 to 32."; nothing where the count is sure. */
export function maybe({ held_items_low: low, held_items_high: high }) {
  return unsure(low, high) ? fill(words.board.maybe, { low: number(low), high: number(high) }) : "";
}
