// Putting a finished trial right: each press is one correction, and each can be taken back.

import { ask } from "./ask.js";
import { fill, held, itemName, load, number, words } from "./format.js";

const w = words.correct;
const at = (id) => document.getElementById(id);
const make = (tag, attributes, ...inside) => {
  const made = Object.assign(document.createElement(tag), attributes);
  made.append(...inside);
  return made;
};
let trial = null; // as the rig tells it now
let item = null;
let busy = false;

/** Open the dialog for one trial; throws what the rig refuses. */
export async function openCorrection(which, rigItem) {
  item = rigItem;
  trial = await ask("/desk/correcting", { number: which });
  say({});
  show(null);
  at("sunk-at").value = number(trial.sunk_at_s ?? trial.additions.at(-1)?.at_s ?? 0, 1);
  at("correct").showModal();
  at("correct").scrollTop = 0;
}

function say({ what = "", try_this = "", status = 0, notice = "" }) {
  at("correct-error").hidden = !what;
  at("correct-what").textContent = what;
  at("correct-try").textContent = try_this;
  at("correct-pin").hidden = status !== 401;
  at("correct-notice").hidden = !notice;
  at("correct-notice").textContent = notice;
}

async function tell(text) {
  if (busy) return false; // a second tap of a wet finger is not a second press
  busy = true;
  try {
    trial = await ask("/desk/correct", { number: trial.number, text });
    say({ notice: text === "back" ? w.taken_back : w.done });
    return true;
  } catch (refused) {
    say(refused); // what was typed stays
    document.activeElement.scrollIntoView({ block: "nearest" });
    return false;
  } finally {
    busy = false;
  }
}

/** Tell, then show what came of it with the same addition open and the focus near the finger. */
async function correct(text, open, focus) {
  if (!(await tell(text))) return;
  show(open);
  at("correct-additions").querySelector("details[open] > summary")?.focus();
  if (focus) (focus.hidden ? at("correct-close") : focus).focus();
}

function sizeOf(addition) {
  return load(item, addition.items, addition.mass_g);
}

function show(open) {
  at("correct-title").textContent = fill(w.title, { number: number(trial.number), boat: trial.boat });
  const outcome = words.short_outcome[trial.outcome] ?? trial.outcome;
  at("correct-result").textContent = `${held(item, trial)}, ${outcome}`;
  at("correct-none").hidden = trial.additions.length > 0;
  at("correct-additions").replaceChildren(...trial.additions.map((each, i) => line(each, i + 1, open)));
  at("correct-afloat").hidden = trial.outcome === "afloat";
  at("correct-void").hidden = trial.outcome === "void";
  at("correct-list").replaceChildren(...trial.corrections.map((textContent) => make("li", { textContent })));
  at("correct-so-far").hidden = trial.corrections.length === 0;
}

function line(addition, k, open) {
  const actions = make("div", { className: "actions" });
  if (k < trial.additions.length) {
    const merge = make("button", { type: "button", className: "press plain wide" });
    merge.textContent = fill(w.merge, { next: number(k + 1) });
    merge.addEventListener("click", () => correct(`merge,${k}`, k));
    actions.append(merge);
  }
  actions.append(form("count", k, addition.items ?? "", 0));
  if (addition.items > 1) actions.append(form("split", k, Math.floor(addition.items / 2), 1, addition.items - 1));
  const summary = make("summary", {}, make("b", { textContent: fill(w.addition, { k: number(k), load: sizeOf(addition) }) }),
    make("span", { textContent: fill(w.after, { at: number(addition.at_s) }) }));
  const details = make("details", { name: "addition", open: k === open }, summary, actions);
  details.setAttribute("name", "addition"); // one open at a time
  return details;
}

/** A number with less and more beside it, and the button that sends it. */
function form(fix, k, value, least, most) {
  const input = make("input", { value: String(value), inputMode: "numeric", autocomplete: "off" });
  input.setAttribute("aria-label", fill(w[`${fix}_aria`], { k: number(k) }));
  if (most != null) input.dataset.most = most;
  input.dataset.least = least;
  const unit = item ? itemName(item, 2) : words.desk.weights;
  const send = make("button", { className: "press", textContent: w[`${fix}_set`] });
  send.setAttribute("aria-label", `${w[`${fix}_set`]}: ${fill(w[`${fix}_aria`], { k: number(k) })}`);
  const made = make("form", { className: "stepper" },
    make("span", { className: "label", textContent: fill(w[fix], { item: unit }) }),
    stepper(-1), input, stepper(1), send);
  made.dataset.fix = `${fix},${k}`;
  made.dataset.open = k;
  return made;
}

function stepper(by) {
  const button = make("button", { type: "button", className: "press plain step", textContent: by < 0 ? "\u2212" : "+" });
  button.dataset.step = by;
  button.setAttribute("aria-label", by < 0 ? w.less : w.more);
  return button;
}

/** "12,5" and "12.5" are the same; NaN for what is no number. */
const valueOf = (input) => (input.value.trim() ? Number(input.value.trim().replace(",", ".")) : NaN);

at("correct").addEventListener("click", ({ target }) => {
  const button = target.closest("[data-step]");
  if (!button) return;
  const input = button.closest("form").querySelector("input");
  const { least = 0, most = Infinity } = input.dataset;
  const stepped = (valueOf(input) || 0) + Number(button.dataset.step);
  input.value = String(Math.round(10 * Math.min(Number(most), Math.max(Number(least), stepped))) / 10);
});

at("correct").addEventListener("submit", (event) => {
  event.preventDefault();
  const input = event.target.querySelector("input");
  const whole = event.target.dataset.fix !== "sunk";
  const value = valueOf(input);
  if (!(value >= 0) || (whole && !Number.isInteger(value))) {
    say({ what: w.no_number, try_this: whole ? w.no_number_try : w.no_seconds_try });
    return input.focus();
  }
  const text = `${event.target.dataset.fix},${whole ? value : Number(value.toFixed(3))}`;
  correct(text, Number(event.target.dataset.open) || null, whole ? null : input);
});

at("correct-afloat").addEventListener("click", ({ currentTarget }) => correct("afloat", null, currentTarget));
at("correct-void").addEventListener("click", ({ currentTarget }) => correct("void", null, currentTarget));
at("correct-back").addEventListener("click", ({ currentTarget }) => {
  const whole = at("correct-so-far");
  correct("back", null, trial.corrections.length > 1 ? currentTarget : whole);
});
at("correct-close").addEventListener("click", () => at("correct").close());
at("correct").addEventListener("close", () => {
  document.querySelector(`[data-correct="${trial.number}"]`)?.focus(); // its row may be a new one
});
