// Ask the Desk to do something: JSON there, JSON back, refusals as {what, try_this, status}.

import { words } from "./format.js";

const w = words.desk;
const PATIENCE_MS = 8000;

export class Refused extends Error {
  constructor({ what, try_this }, status) {
    super(`${what} ${try_this}`);
    Object.assign(this, { what, try_this, status });
  }
}

const noAnswer = () => new Refused({ what: w.no_answer, try_this: w.no_answer_try }, 0);

export async function ask(address, body = {}) {
  let answer;
  let said;
  try {
    answer = await fetch(address, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    said = await answer.json();
  } catch {
    throw noAnswer();
  }
  if (answer.ok) return said;
  throw said.what ? new Refused(said, answer.status) : noAnswer();
}
