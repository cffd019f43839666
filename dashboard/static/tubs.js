// Several tubs: each tile shows what its own rig says; one that is silent leaves the others alone.

import { fill, itemName, number, words } from "./format.js";

const w = words.tubs;
const EVERY_MS = 500;
const tiles = [...document.querySelectorAll(".tile")];

function write(tile, part, text) {
  const element = tile.querySelector(`.${part}`);
  if (element.textContent !== text) element.textContent = text;
}

function show(tile, tub) {
  tile.classList.toggle("lost", !tub.in_touch || tub.trouble);
  const link = tile.querySelector(".desk");
  link.hidden = !tub.address;
  if (tub.address) link.href = `${tub.address}desk`;
  if (!tub.in_touch) return write(tile, "state", tub.address ? words.board.lost_touch : w.waiting);
  write(tile, "boat", tub.boat ?? "");
  write(tile, "state", tub.trouble ? words.board.trouble
    : tub.outcome ? words.outcome[tub.outcome] : tub.state || words.phase.idle);
  const counted = tub.items != null && tub.item;
  const item = counted ? itemName({ name: tub.item }, tub.items) : "";
  write(tile, "big", counted ? number(tub.items) : tub.load_g == null ? "" : `${number(tub.load_g)}\u202fg`);
  const where = tub.outcome ? words.board.held : words.board.aboard;
  write(tile, "what", tub.boat ? `${item} ${where}`.trim() : "");
  const wall = tub.freeboard_mm == null ? "" : fill(w.wall, { mm: number(tub.freeboard_mm) });
  const room = tub.room_items == null ? "" : fill(w.room, { room: number(tub.room_items) });
  write(tile, "room", [wall, room].filter(Boolean).join(", "));
  write(tile, "next", tub.next_boat && tub.next_boat !== tub.boat ? fill(words.board.next, { label: tub.next_boat }) : "");
}

async function follow() {
  try {
    const answer = await fetch("/latest");
    const tubs = await answer.json();
    tiles.forEach((tile, i) => show(tile, tubs[i]));
  } catch {
    for (const tile of tiles) show(tile, { in_touch: false, address: "/" });
  }
  setTimeout(follow, EVERY_MS);
}
follow();
