// The PIN page.

import { ask } from "./ask.js";

const form = document.getElementById("pin-form");
const field = document.getElementById("pin");
const error = document.getElementById("error");

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  error.hidden = true;
  try {
    await ask("/desk/pin", { pin: field.value });
    location.assign(form.dataset.desk);
  } catch (refused) {
    error.textContent = `${refused.what} ${refused.try_this}`;
    error.hidden = false;
    field.select();
  }
});
form.querySelector("button").disabled = false; // before this script listens, a press would show the PIN in the address
