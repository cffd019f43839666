// The workbench: one step at a time. What to do, when a reading is steady, what it comes to: all from the rig.

import { ask } from "./ask.js";
import { fill, words } from "./format.js";

const w = words.bench;
const at = (id) => document.getElementById(id);
const page = document.querySelector(".bench");
const form = at("begin");
const LOOK_MS = 400;
const DRAFT = "boat draft"; // as the Desk's boat form keeps it
let plotted = "";

function sayRefused(refused) {
  at("error").hidden = !refused;
  if (!refused) return;
  at("what").textContent = refused.what;
  at("try-this").textContent = refused.try_this;
  at("to-pin").hidden = refused.status !== 401;
}

/** Ask and show; a refusal is said and changes nothing. */
async function tell(action, body = {}) {
  try {
    const state = await ask(`/desk/bench/${action}`, body);
    sayRefused(null);
    show(state);
    return true;
  } catch (refused) {
    sayRefused(refused);
    return false;
  }
}

function list(id, rows, make) {
  at(id).replaceChildren(...rows.map((row) => {
    const line = document.createElement("li");
    make(line, row);
    return line;
  }));
}

const part = (tag, text) => Object.assign(document.createElement(tag), { textContent: text });

function write(id, text) {
  if (at(id).textContent !== text) at(id).textContent = text;
}

function show(state) {
  const going = Boolean(state.kind);
  const done = state.phase === "done";
  form.hidden = going;
  at("going").hidden = !going;
  at("result").hidden = !(done && (state.outcome || state.outcome_trouble));
  if (!going) return;
  write("number", fill(w.number, { number: state.number, steps: state.steps }));
  write("asks", done ? w.done : state.asks);
  write("shows", state.shows);
  at("part").hidden = state.phase !== "reading";
  at("part").value = state.part;
  at("trouble").hidden = !state.trouble;
  write("trouble", state.trouble);
  at("typed-label").hidden = !state.field || state.phase !== "asking";
  write("field", state.field);
  for (const button of page.querySelectorAll("[data-press]")) {
    button.hidden = !state.can.includes(button.dataset.press);
  }
  list("taken", state.taken, (line, taken) => line.append(part("span", taken.known), part("b", taken.shows)));
  if (done) showResult(state);
}

function showResult({ outcome, outcome_trouble, lines, in_use, kept, can }) {
  list("says", outcome ? outcome.says : [outcome_trouble], (line, text) => line.append(text));
  list("findings", outcome?.findings ?? [], (line, finding) => {
    line.className = finding.ok ? "good" : "bad";
    line.append(part("b", finding.says), " ", finding.ok ? "" : finding.do);
  });
  at("lines-box").hidden = !lines;
  write("lines", lines);
  write("in-use", in_use);
  write("kept", kept ? fill(w.kept, { file: kept }) : "");
  at("write").hidden = !can.includes("write");
  const held = outcome?.rows?.[0]?.held_ml;
  at("to-boat").hidden = held == null;
  if (held != null) at("to-boat").onclick = () => keepForBoat(outcome.rows[0]);
  showPlot(outcome?.figure);
}

/** The boat form on the Desk finds shape, volume and mass filled in. */
function keepForBoat({ held_ml, boat_g }) {
  const draft = JSON.parse(sessionStorage.getItem(DRAFT) ?? "[]").filter(
    ([name]) => !["hull", "brimful.held_ml", "mass_g"].includes(name),
  );
  draft.push(["hull", "brimful"], ["brimful.held_ml", held_ml.toFixed(1)], ["mass_g", boat_g.toFixed(1)]);
  sessionStorage.setItem(DRAFT, JSON.stringify(draft));
  window.location.assign("/desk");
}

async function showPlot(figure) {
  at("plot").hidden = !figure;
  const key = JSON.stringify(figure ?? null);
  if (!figure || key === plotted) return;
  plotted = key;
  if (!window.Plotly) {
    await new Promise((resolve, reject) => {
      const script = Object.assign(document.createElement("script"), {
        src: page.dataset.script, onload: resolve, onerror: reject,
      });
      document.head.append(script);
    }).catch(() => { plotted = ""; });
  }
  if (!window.Plotly) return;
  const calm = { displayModeBar: false, responsive: true };
  const layout = { ...figure.layout, paper_bgcolor: "rgba(0,0,0,0)", plot_bgcolor: "rgba(0,0,0,0)" };
  window.Plotly.react(at("plot"), figure.data, layout, calm);
}

function chooseKind() {
  for (const group of form.querySelectorAll(".options")) {
    const chosen = group.dataset.kind === form.elements.kind.value;
    group.hidden = !chosen;
    for (const input of group.querySelectorAll("input")) input.disabled = !chosen;
  }
}

form.elements.kind.addEventListener("change", chooseKind);
form.addEventListener("submit", (event) => {
  event.preventDefault();
  const kind = form.elements.kind.value;
  const options = {};
  for (const input of form.querySelectorAll(`[data-kind="${kind}"] input`)) {
    options[input.dataset.option] = input.value.trim();
  }
  tell("begin", { kind, options, note: form.elements.note.value });
});

page.addEventListener("click", async ({ target }) => {
  const word = target.closest("[data-press]")?.dataset.press;
  if (!word) return;
  const typed = at("typed-label").hidden ? "" : at("typed").value;
  if (await tell("press", { word, typed })) at("typed").value = "";
});
at("write").addEventListener("click", () => tell("write"));
at("leave").addEventListener("click", () => tell("leave"));

const wanted = new URLSearchParams(window.location.search).get("kind");
if (wanted && [...form.elements.kind.options].some((option) => option.value === wanted)) {
  form.elements.kind.value = wanted;
}
chooseKind();

async function follow() {
  if (!document.hidden) await ask("/desk/bench/look").then(show, sayRefused);
  setTimeout(follow, LOOK_MS);
}
follow();
