// The form for a new boat: which measures to show, what to send, and a draft that survives a reload.

const DRAFT = "boat draft";
const SOON_MS = 300; // a pause in typing

/** "12,5" and "12.5" are the same length; what is no number goes as it is, for the rig to name. */
function numeric(text) {
  const value = Number(text.trim().replace(",", "."));
  return text.trim() === "" || Number.isNaN(value) ? text.trim() : value;
}

/** `send(boat)`: true when it was taken. `draw(boat)`: its drawing, as far as it is typed in. */
export function takeOver(form, send, draw) {
  const family = form.elements.hull;
  const figure = form.querySelector("figure");

  const groupOf = (name) => form.querySelector(`.measures[data-family="${CSS.escape(name)}"]`);
  const isTwin = () => family.value === "twin";

  function showMeasures() {
    for (const group of form.querySelectorAll(".measures")) {
      const chosen = group.dataset.family === family.value
        || (isTwin() && group.dataset.family === form.elements.each.value);
      group.hidden = !chosen;
      for (const field of group.querySelectorAll("input, select")) field.disabled = !chosen;
    }
  }

  function keepDraft() {
    const draft = [...form.querySelectorAll("input, select")].map((field) => [field.name, field.value]);
    sessionStorage.setItem(DRAFT, JSON.stringify(draft));
  }

  function restoreDraft() {
    const draft = JSON.parse(sessionStorage.getItem(DRAFT) ?? "[]");
    for (const [name, value] of draft) if (form.elements[name]) form.elements[name].value = value;
    showMeasures();
    return draft.some(([name, value]) => name !== "hull" && value !== "");
  }

  function measures(group) {
    const table = {};
    for (const input of group.querySelectorAll("input[data-key]")) {
      if (input.required || input.value.trim()) table[input.dataset.key] = numeric(input.value);
    }
    return table;
  }

  /** Rows with nothing in them are left out; what is half filled goes as it is, for the rig to name. */
  function rows() {
    const found = [];
    for (const input of groupOf("sections").querySelectorAll("input[data-row]")) {
      const row = (found[Number(input.dataset.row)] ??= { form: form.elements.form.value });
      if (input.value.trim()) row[input.dataset.rowKey] = numeric(input.value);
    }
    return found.filter((row) => Object.keys(row).length > 1);
  }

  function boat() {
    const table = { label: form.elements.label.value.trim(), hull: family.value, ...measures(groupOf(family.value)) };
    if (isTwin()) table.each = { hull: form.elements.each.value, ...measures(groupOf(form.elements.each.value)) };
    if (family.value === "sections") table.section = rows();
    table.mass_g = numeric(form.elements.mass_g.value);
    const guess = form.elements.guess_items.value.trim();
    if (guess) table.guess_items = numeric(guess);
    return table;
  }

  /** Draw what is typed so far; an older answer must not cover a newer one. */
  let asked = 0;
  async function redraw() {
    const mine = (asked += 1);
    const { pictures, letters } = await draw(boat());
    if (mine !== asked) return;
    figure.innerHTML = pictures.join(""); // the rig's own SVG: lines, letters and numbers
    for (const letter of form.querySelectorAll("[data-letter-of]")) {
      if (letter.closest(".measures").hidden) continue;
      const key = letter.dataset.letterOf;
      letter.textContent = letters[key] ?? letters[`each.${key}`] ?? "";
    }
    point();
  }

  /** The line that belongs to the field in hand stands out. */
  function point() {
    const letter = document.activeElement?.closest?.("label")?.querySelector("[data-letter-of]")?.textContent;
    for (const line of figure.querySelectorAll("[data-letter]")) {
      line.classList.toggle("in-hand", line.dataset.letter === letter);
    }
  }

  let soon = 0;
  const redrawSoon = () => {
    clearTimeout(soon);
    soon = setTimeout(() => redraw().catch(() => {}), SOON_MS); // without an answer the old drawing stays
  };

  for (const choice of [family, form.elements.each]) choice.addEventListener("change", showMeasures);
  for (const event of ["input", "change"]) form.addEventListener(event, redrawSoon);
  for (const event of ["focusin", "focusout"]) form.addEventListener(event, () => setTimeout(point));
  form.addEventListener("input", keepDraft);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (!(await send(boat()))) return; // refused: what was typed stays
    form.reset();
    sessionStorage.removeItem(DRAFT);
    showMeasures();
    redrawSoon();
  });
  const hasDraft = restoreDraft();
  if (hasDraft || family.value !== "box") redrawSoon();
  return { hasDraft };
}
