// The Board: puts what the rig says where it belongs.

import { createChart } from "./chart.js";
import { follow } from "./feed.js";
import { digitsFor, fill, grams, held as heldText, itemName, load, maybe, number, wentDown, words } from "./format.js";
import { createHullView } from "./hull.js";

const w = words.board;
const page = document.querySelector(".board");
const at = (id) => document.getElementById(id);
const hullView = createHullView(at("hull"));
const chart = createChart(at("chart"));

const state = { rig: {}, source: { ok: true, text: "" }, trial: {}, now: {}, class: {}, foretold: {}, inTouch: true };

function write(id, text) {
  const element = at(id);
  if (element.textContent !== text) element.textContent = text;
}

function show(id, visible) {
  at(id).hidden = !visible;
}

/** A large number with its unit set smaller. */
function writeBig(id, value, unit) {
  const element = at(id);
  const text = value + (unit ? `\u202f${unit}` : "");
  if (element.textContent === text) return;
  element.style.setProperty("--chars", text.length); // a long number is set smaller
  element.replaceChildren(value);
  if (unit) {
    const small = document.createElement("small");
    small.textContent = `\u202f${unit}`;
    element.append(small);
  }
}

const phaseNow = () => (state.trial.result ? "ended" : (state.now.phase ?? "idle"));

function stateText() {
  const { trial, now } = state;
  if (trial.result) return words.outcome[trial.result.outcome] ?? words.phase.ended;
  return now.state_text || words.phase[phaseNow()] || "";
}

/** Why it went down; how the others ended, their headline says already. */
const reason = () => (wentDown(state.trial.result) ? state.trial.result.reason : "");

/** What is wrong with the rig, in the Board's own words; the Desk has the teacher's. */
function trouble() {
  const { source, inTouch } = state;
  if (!inTouch) return w.lost_touch;
  const [fault] = source.faults ?? [];
  if (fault) return w[`trouble_${fault.ailment === "restarted" ? "restarted" : fault.channel}`] ?? w.trouble;
  return source.ok === false ? w.trouble : "";
}

function showHead() {
  const { trial, rig } = state;
  write("boat", trial.boat ?? rig.name ?? w.waiting);
  write("trial-number", trial.number == null ? "" : fill(w.trial, { number: trial.number }));
  show("demo", rig.demo === true);
  write("slip", trouble());
  show("slip", Boolean(trouble()));
}

function showState() {
  const phase = phaseNow();
  const down = wentDown(state.trial.result);
  const left_s = phase === "holding" ? state.now.hold_left_s : null;
  const held = phase === "holding" && !left_s; // carried long enough: the next load may come
  page.dataset.phase = down ? "sinking" : held ? "adding" : phase;
  const text = stateText();
  write("state", text);
  show("hold", Boolean(left_s));
  if (left_s) {
    write("hold", fill(w.hold_s, { seconds: number(Math.ceil(left_s)) }));
    page.style.setProperty("--hold-left", left_s);
    page.style.setProperty("--hold-whole", state.rig.hold_s ?? left_s);
  }
  // Said aloud once a phase, not at every tick of the countdown.
  const spoken = `${phase}/${state.trial.boat}/${state.trial.number}`;
  if (at("spoken").dataset.said !== spoken) {
    at("spoken").dataset.said = spoken;
    write("spoken", `${state.trial.boat ?? ""} ${text} ${reason()}`.trim());
  }
}

function showNumbers() {
  const { trial, now, rig } = state;
  const result = trial.result;
  const items = result ? result.held_items : now.items;
  const load_g = result ? result.held_g : now.load_g;
  const load_g_sd = result ? result.held_g_sd : now.load_g_sd;
  const where = result ? w.held : w.aboard;
  if (items != null) {
    writeBig("load-big", number(items));
    write("load-name", `${itemName(rig.item, items)} ${where}`);
    write("load-small", [grams(load_g, load_g_sd), result ? maybe(result) : ""].filter(Boolean).join(". "));
  } else if (load_g != null) {
    writeBig("load-big", number(load_g, digitsFor(load_g_sd)), "g");
    write("load-name", where);
    write("load-small", load_g_sd == null ? "" : `± ${number(load_g_sd, digitsFor(load_g_sd))} g`);
  } else {
    writeBig("load-big", "\u2013");
    write("load-name", where);
    write("load-small", "");
  }
  const idle = trial.boat == null;
  show("load", !idle);
  show("wall", !idle && !result && phaseNow() !== "sinking");
  const line = idle ? fill(w.rule, { seconds: number(rig.hold_s ?? 0) }) : reason();
  show("reason", Boolean(line));
  write("reason", line);
  const digits = digitsFor(now.freeboard_mm_sd);
  if (now.freeboard_mm == null) {
    writeBig("wall-big", "\u2013");
    write("wall-small", w.freeboard_word);
  } else {
    writeBig("wall-big", number(now.freeboard_mm, digits), "mm");
    write("wall-small", now.freeboard_mm_sd == null ? w.freeboard_word
      : fill(w.freeboard_sd, { sd: number(now.freeboard_mm_sd, digits) }));
  }
}

/** What may still go aboard: only while the boat floats, and floats like the one measured. */
function showRoom() {
  const { trial, now, rig } = state;
  const { forecast } = now;
  const afloat = ["adding", "holding"].includes(phaseNow()) && now.trial_number === trial.number;
  const shown = afloat && forecast?.fits === true;
  show("room", shown);
  if (!shown) return;
  const inItems = forecast.room_items != null;
  const unit = inItems ? "items" : "g";
  const [low, room, high] = ["room_low", "room", "room_high"].map((key) => forecast[`${key}_${unit}`]);
  const one = (part) => (inItems ? number(part) : fill(w.grams, { load: number(part) }));
  const whole = inItems ? load(rig.item, room, null) : one(room);
  const none = one(high) === one(0);
  const about = none ? w.room_none : one(room) === one(0) ? w.room_little : fill(w.room_about, { room: whole });
  write("room-big", about);
  at("room").style.setProperty("--chars", about.length);
  write("room-range", one(low) === one(high) ? "" : fill(w.room_range, { low: one(low), high: one(high) }));
}

function showHull() {
  const { trial, now } = state;
  const down = page.dataset.phase === "sinking";
  const wall = now.freeboard_mm;
  hullView.show({
    hull: trial.hull ?? null,
    draft_mm: now.draft_mm,
    items: trial.result ? trial.result.held_items : (now.items ?? trial.held_items),
    text: wall == null ? "" : fill(w.freeboard_mm, { freeboard: number(wall, digitsFor(now.freeboard_mm_sd)) }),
    down,
  });
  const said = now.draft_mm == null || down ? "" : ` ${fill(w.hull_depth, { draft: number(now.draft_mm) })}`;
  at("hull").setAttribute("aria-label", w.hull + said);
}

function showBar(id, part, whole, text) {
  const bar = at(id).querySelector(".bar");
  bar.hidden = !part;
  bar.style.setProperty("--part", part ?? 0);
  bar.style.setProperty("--whole", whole);
  at(id).querySelector(".amount").textContent = text;
}

/** A dry rim holds back a little water: as much as this is predicted right as well. */
function showMost(says, most, text) {
  const further = says > 0 && most > says;
  show("most", further);
  write("most", further ? fill(w.archimedes_most, { most: text(most) }) : "");
  at("bar-archimedes").querySelector(".bar").style.setProperty("--further", further ? most - says : 0);
}

function showCompare() {
  const { trial, rig } = state;
  show("compare", trial.boat != null);
  const inItems = rig.item != null;
  const guess = inItems ? trial.guess_items : null;
  const says = inItems ? trial.prediction?.capacity_items : trial.prediction?.capacity_g;
  const most = inItems ? trial.prediction?.held_back_items : trial.prediction?.held_back_g;
  const held = inItems ? trial.held_items : trial.held_g;
  const whole = Math.max(1, guess ?? 0, says ?? 0, most ?? 0, held ?? 0);
  const text = (part) => (inItems ? load(rig.item, part, null) : grams(part, null));
  showBar("bar-guess", guess, whole, guess == null ? w.no_guess : text(guess));
  showBar("bar-archimedes", says, whole, says == null ? w.no_prediction : text(says));
  const carried = trial.result ? heldText(rig.item, trial.result) : load(inItems ? rig.item : null, inItems ? held : null, trial.held_g);
  showBar("bar-held", held, whole, trial.held_g || trial.result ? carried : w.none_yet);
  showMost(says, most, inItems ? number : text);
  const outlook = state.foretold[trial.boat]?.words; // said before the test, and proved by it
  show("outlook", Boolean(outlook) && !trial.result);
  write("outlook", outlook ?? "");
  const counts = trial.result && trial.result.outcome !== "void";
  show("fits-too", Boolean(counts && held > says && held <= most));
}

function showPoints() {
  const rows = (state.trial.curve ?? []).map((point) => {
    const row = document.createElement("tr");
    const wall = point.freeboard_mm == null ? w.not_measured
      : fill(w.freeboard_mm, { freeboard: number(point.freeboard_mm, digitsFor(point.freeboard_mm_sd)) });
    for (const text of [load(state.rig.item, point.items, point.load_g), wall]) {
      row.insertCell().textContent = text;
    }
    return row;
  });
  at("points").replaceChildren(...rows);
}

function showClass() {
  const results = state.class.results ?? [];
  const { item } = state.rig;
  write("results-title", item ? fill(w.results_in, { item: itemName(item, 2) }) : w.results);
  show("no-results", results.length === 0);
  at("results").replaceChildren(
    ...results.map((result) => {
      const line = document.createElement("li");
      for (const [tag, text, kind] of [
        ["span", number(result.number), "number"],
        ["b", result.boat, ""],
        ["span", fill(w.result, {
          held: result.held_items == null ? grams(result.held_g, null) : heldText(null, result),
          outcome: words.short_outcome[result.outcome] ?? result.outcome,
        }), ""],
      ]) {
        const part = document.createElement(tag);
        part.textContent = text;
        if (kind) part.className = kind;
        line.append(part);
      }
      return line;
    }),
  );
  const { next_boat, boat, result } = state.trial;
  const next = next_boat === boat && !result ? null : next_boat;
  write("next", next ? fill(w.next, { label: next }) : "");
}

function showAll() {
  showHead();
  showState();
  showNumbers();
  showRoom();
  showHull();
  showCompare();
  showPoints();
  showClass();
}

follow(
  (topic, data) => {
    state[topic] = data;
    if (topic === "rig") chart.setRig(data);
    if (topic === "trial") chart.setTrial(data);
    if (topic === "now") {
      chart.setNow(data);
      showState();
      showNumbers();
      showRoom();
      showHull();
      return;
    }
    showAll();
  },
  (inTouch) => {
    state.inTouch = inTouch;
    showHead();
  },
);
