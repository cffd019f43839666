// The form for a new boat: which measures to show, what to send, and a draft that survives a reload.

const DRAFT = "boat draft";

/** "12,5" and "12.5" are the same length; what is no number goes as it is, for the rig to name. */
function numeric(text) {
  const value = Number(text.trim().replace(",", "."));
  return text.trim() === "" || Number.isNaN(value) ? text.trim() : value;
}

export function takeOver(form, send) {
  const family = form.elements.hull;

  function showMeasures() {
    for (const group of form.querySelectorAll(".measures")) {
      const chosen = group.dataset.family === family.value;
      group.hidden = !chosen;
      for (const input of group.querySelectorAll("input")) input.disabled = !chosen;
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

  function boat() {
    const measured = form.querySelector(`.measures[data-family="${CSS.escape(family.value)}"]`);
    const table = { label: form.elements.label.value.trim(), hull: family.value };
    for (const input of measured.querySelectorAll("input")) {
      if (input.required || input.value.trim()) table[input.dataset.key] = numeric(input.value);
    }
    table.mass_g = numeric(form.elements.mass_g.value);
    const guess = form.elements.guess_items.value.trim();
    if (guess) table.guess_items = numeric(guess);
    return table;
  }

  family.addEventListener("change", showMeasures);
  form.addEventListener("input", keepDraft);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (!(await send(boat()))) return; // refused: what was typed stays
    form.reset();
    sessionStorage.removeItem(DRAFT);
    showMeasures();
  });
  return { hasDraft: restoreDraft() };
}
