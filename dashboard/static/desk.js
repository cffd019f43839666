// The Desk: choose a boat, press buttons, see at once what the rig makes of it.

import { ask } from "./ask.js";
import { takeOver } from "./boat_form.js";
import { openCorrection } from "./correct.js";
import { follow } from "./feed.js";
import { digitsFor, fill, grams, held as heldText, itemName, load, number, wentDown, words } from "./format.js";

const w = words.desk;
const at = (id) => document.getElementById(id);
const state = { rig: {}, source: {}, trial: {}, now: {}, class: {}, foretold: {}, inTouch: true };
let chosen = null;
let boatsShown = "";
let resultsShown = "";
const FEW_LINES = 3; // more would push the buttons off a phone's screen

// What was said: one refusal or one notice at a time, until the next press.
function say(notice) {
  at("error").hidden = true;
  at("notice").hidden = !notice;
  at("notice").textContent = notice ?? "";
}

function sayRefused({ what, try_this, status }) {
  say(null);
  at("what").textContent = what;
  at("try-this").textContent = try_this;
  at("to-pin").hidden = status !== 401;
  at("error").hidden = false;
}

/** Ask; true when done, false when refused (and said so). */
async function tell(address, body, notice) {
  try {
    const answer = await ask(address, body);
    say(typeof notice === "function" ? notice(answer) : notice);
    return true;
  } catch (refused) {
    sayRefused(refused);
    return false;
  }
}

const actions = {
  safety: () => tell("/desk/safety"),
  start: () => tell("/desk/start", { label: chosen ?? "" }),
  stop: () => tell("/desk/stop"),
  sunk: () => tell("/desk/sunk"),
  next: () =>
    tell("/desk/next", {}, ({ label }) => {
      if (label) choose(label);
      return label ? fill(w.next_ready, { label }) : w.next_none;
    }),
};

function mayPress(button) {
  if (button.getAttribute("aria-disabled") !== "true") return true;
  const safetyFirst = button.dataset.can === "start" && state.class.safety_due;
  sayRefused(safetyFirst ? { what: w.safety_first, try_this: w.safety_first_try }
    : { what: w.not_now, try_this: w.not_now_try });
  return false;
}

const byHand = { queue: Promise.resolve() };
at("by-hand").addEventListener("click", ({ target }) => {
  const items = Number(target.closest("[data-count]")?.dataset.count);
  // one after the other: quick taps are all counted, none of them twice
  if (items) byHand.queue = byHand.queue.then(() => tell("/desk/count", { items }));
});
at("ruler-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const mm = at("ruler").value;
  if (await tell("/desk/ruler", { mm }, fill(w.ruler_kept, { mm }))) event.target.reset();
});

const busy = new Set();
document.addEventListener("click", async ({ target }) => {
  const button = target.closest("[data-action]");
  if (!button || busy.has(button) || !mayPress(button)) return;
  busy.add(button); // a second tap of a wet finger is not a second press
  await actions[button.dataset.action]();
  busy.delete(button);
});

at("void").addEventListener("click", (event) => mayPress(event.currentTarget) && at("void-dialog").showModal());
at("void-no").addEventListener("click", () => at("void-dialog").close());
at("void-yes").addEventListener("click", () => {
  at("void-dialog").close();
  tell("/desk/void");
});

at("note-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const button = event.currentTarget.querySelector("button");
  if (!mayPress(button)) return;
  if (await tell("/desk/note", { text: at("note").value }, w.noted)) at("note").value = "";
});

const form = takeOver(at("boat-form"), async (boat) => {
  const done = await tell("/desk/boat", boat, fill(w.added, { label: boat.label }));
  if (done) choose(boat.label);
  return done;
}, (boat) => ask("/desk/drawing", boat));
if (form.hasDraft) at("enter").open = true;

function choose(label) {
  chosen = label;
  for (const radio of at("boats").querySelectorAll("input")) radio.checked = radio.value === label;
  showButtons();
  showForetold();
}

function tableRows(table, rows) {
  table.hidden = rows.length === 0;
  table.tBodies[0].replaceChildren(...rows.map(([name, text]) => {
    const row = document.createElement("tr");
    const head = Object.assign(document.createElement("th"), { textContent: name, scope: "row" });
    row.append(head);
    row.insertCell().textContent = text;
    return row;
  }));
}

/** What physics says of the boat that is chosen. */
function showForetold() {
  const found = state.foretold[chosen];
  at("foretold-sheet").hidden = !found;
  if (!found) return;
  at("foretold-title").textContent = fill(w.foretold, { label: chosen });
  at("foretold-words").textContent = found.words ?? found.trouble;
  const inItems = found.low_items != null;
  const [low, high] = inItems ? [number(found.low_items), load(state.rig.item, found.high_items, null)]
    : [number(found.low_g), grams(found.high_g, null)];
  at("foretold-range").textContent = found.trouble ? "" : fill(w.foretold_range, { low, high });
  tableRows(at("foretold-bill"), (found.lines ?? []).map((line) => [
    line.words, fill(w.bill_line, { sd: number(line.sd_g, 1), share: number(100 * line.share) }),
  ]));
  tableRows(at("foretold-bears"), (found.bears ?? []).map((bears) => [
    grams(bears.load_g, null), fill(w.bears_line, { limit: number(bears.limit_mm), heel: number(bears.heel_deg) }),
  ]));
}

at("boats").addEventListener("change", ({ target }) => choose(target.value));

function boatLine(boat) {
  const line = document.createElement("label");
  line.className = "pick";
  const radio = Object.assign(document.createElement("input"), {
    type: "radio", name: "boat", value: boat.label, checked: boat.label === chosen,
  });
  const name = document.createElement("b");
  name.textContent = boat.label;
  const about = document.createElement("span");
  about.textContent = [
    boat.tested ? fill(w.tested, { held: boat.held_items == null ? words.board.not_measured : number(boat.held_items) }) : "",
    boat.guess_items == null ? "" : fill(w.guess, { guess: number(boat.guess_items) }),
    boat.capacity_items == null ? "" : fill(w.capacity, { capacity: number(boat.capacity_items) }),
  ].filter(Boolean).join(", ");
  const both = document.createElement("div");
  both.append(name, about);
  line.append(radio, both);
  return line;
}

function showBoats() {
  const boats = state.class.boats ?? [];
  if (JSON.stringify(boats) === boatsShown) return; // leave the list and its focus alone
  boatsShown = JSON.stringify(boats);
  if (!boats.some((boat) => boat.label === chosen)) {
    chosen = state.trial.next_boat ?? boats.find((boat) => !boat.tested)?.label ?? null;
  }
  const focused = at("boats").contains(document.activeElement) ? document.activeElement.value : null;
  at("boats").replaceChildren(...boats.map(boatLine));
  at("no-boats").hidden = boats.length > 0;
  if (focused != null) [...at("boats").querySelectorAll("input")].find((r) => r.value === focused)?.focus();
}

function showButtons() {
  const can = new Set(state.class.can ?? []);
  const safety = at("safety");
  if (safety) {
    const hadFocus = safety.contains(document.activeElement);
    safety.hidden = !state.class.safety_due;
    if (safety.hidden && hadFocus) at("start").focus(); // else it would fall to the top of the page
  }
  if (state.class.safety_due) can.delete("start");
  for (const button of document.querySelectorAll("[data-can]")) {
    button.setAttribute("aria-disabled", String(!can.has(button.dataset.can)));
  }
  at("start").textContent = chosen == null ? w.start : fill(w.start_boat, { label: chosen });
}

function resultLine(result) {
  const which = `${number(result.number)}, ${result.boat}`;
  const held = [
    heldText(state.rig.item, result),
    words.short_outcome[result.outcome] ?? result.outcome,
    result.corrected ? words.correct.corrected : "",
  ].filter(Boolean).join(", ");
  const line = document.createElement("li");
  for (const [tag, text] of [["i", number(result.number)], ["b", result.boat], ["span", held]]) {
    line.append(Object.assign(document.createElement(tag), { textContent: text }));
  }
  const link = Object.assign(document.createElement("a"), {
    href: `/desk/recording/${Number(result.number)}.rec`, textContent: w.download,
  });
  link.setAttribute("aria-label", `${w.download} ${which}`);
  const button = Object.assign(document.createElement("button"), {
    type: "button", className: "press plain", textContent: words.correct.open,
  });
  button.setAttribute("aria-label", `${words.correct.open} ${which}`);
  button.dataset.correct = result.number;
  line.append(link, button);
  return line;
}

function showResults() {
  const results = state.class.results ?? [];
  const shown = JSON.stringify([results, state.rig.item]);
  if (shown === resultsShown) return; // leave the list and its focus alone
  resultsShown = shown;
  at("no-results").hidden = results.length > 0;
  at("results").replaceChildren(...results.map(resultLine));
}

at("results").addEventListener("click", async ({ target }) => {
  const button = target.closest("[data-correct]");
  if (!button) return;
  try {
    await openCorrection(Number(button.dataset.correct), state.rig.item);
    say(null);
  } catch (refused) {
    sayRefused(refused);
  }
});

/** How it ended; why, only where the first words do not say it all. */
function outcomeText(result) {
  const headline = words.outcome[result.outcome] ?? words.phase.ended;
  return wentDown(result) ? `${headline} ${result.reason}` : headline;
}

function showStrip() {
  const { rig, source, trial, now, inTouch } = state;
  const phase = trial.result ? "ended" : (now.phase ?? "idle");
  at("boat").textContent = trial.boat ?? "";
  const afloat = phase === "holding" || phase === "adding" || phase === "taring";
  at("by-hand").hidden = !(afloat && now.counting && rig.item);
  at("ruler-form").hidden = !(afloat && (now.counting || now.freeboard_mm == null) && now.load_g != null);
  at("state").textContent = trial.result
    ? outcomeText(trial.result)
    : now.state_text || words.phase[phase] || "";
  const carried = trial.result && trial.result.outcome !== "void";
  const counted = now.items == null ? "" : `${load(rig.item, now.items, now.load_g)}, `;
  at("load").textContent = carried
    ? fill(w.carried, { held: [heldText(rig.item, trial.result), grams(trial.result.held_g, trial.result.held_g_sd)].join(", ") })
    : now.load_g == null && now.items == null ? "" : counted + grams(now.load_g, now.load_g_sd);
  const digits = digitsFor(now.freeboard_mm_sd);
  const spread = now.freeboard_mm_sd == null ? "" : ` ${fill(words.board.plus_minus_mm, { sd: number(now.freeboard_mm_sd, digits) })}`;
  const down = phase === "sinking" || wentDown(trial.result); // then no wall is above the water
  at("wall").textContent = down || now.freeboard_mm == null ? ""
    : fill(w.freeboard, { freeboard: number(now.freeboard_mm, digits) }) + spread;
  const call = now.call_items == null || down ? "" : fill(w.call, { items: number(now.call_items) });
  if (at("call").textContent !== call) at("call").textContent = call;
  at("water").textContent = now.water_c == null ? "" : fill(w.water, { water: number(now.water_c, 1) });
  const misfit = phase !== "ended" && now.forecast?.fits === false ? w.misfit : "";
  if (at("misfit").textContent !== misfit) at("misfit").textContent = misfit;
  const bad = source.ok === false || !inTouch;
  at("source").classList.toggle("bad", bad);
  const line = !inTouch ? words.board.lost_touch : fill(bad ? w.sensors_bad : w.sensors_ok, { text: source.text ?? "" });
  if (at("source").textContent !== line) at("source").textContent = line;
}

let beforeShown = "";

/** What this rig and these boats cannot show, told calmly before a trial. */
function showBeforeClass() {
  const lines = state.class.before_class ?? [];
  const trialRuns = (state.class.can ?? []).includes("stop");
  at("before").hidden = lines.length === 0 || trialRuns;
  if (JSON.stringify(lines) === beforeShown) return; // leave it open or shut as the teacher left it
  beforeShown = JSON.stringify(lines);
  at("before-count").textContent = number(lines.length);
  at("before").open = lines.length <= FEW_LINES;
  at("before-lines").replaceChildren(
    ...lines.map((text) => Object.assign(document.createElement("li"), { textContent: text })),
  );
}

function showRest() {
  const { rig, trial } = state;
  at("rig-name").textContent = rig.name ?? "";
  at("demo").hidden = rig.demo !== true;
  at("guess-words").textContent = fill(w.guess_items, { item: rig.item ? itemName(rig.item, 2) : w.weights });
  const remarks = [state.class.resumed, ...(trial.warnings ?? [])].filter(Boolean);
  at("warnings").replaceChildren(
    ...remarks.map((text) => Object.assign(document.createElement("li"), { textContent: text })),
  );
}

follow(
  (topic, data) => {
    state[topic] = data;
    showStrip();
    if (topic === "now") return;
    showRest();
    showBeforeClass();
    showBoats();
    showButtons();
    showForetold();
    showResults();
  },
  (inTouch) => {
    state.inTouch = inTouch;
    showStrip();
  },
);
