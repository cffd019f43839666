// The boat's section, seen from its end, at its measured draft: millimetres, keel at 0, up positive.
// Lengths here place ink on paper; what they mean was worked out by the rig.

const SVG = "http://www.w3.org/2000/svg";
const SURFACE = 0.5; // where the water's surface lies, from the top of the drawing
const MIDDLE = 0.36; // where the boat lies, from the left: the measure stands on its right
const CREST = 5; // height of the drawn waves, in pixels
const MOST_ITEMS_DRAWN = 240;

function draw(parent, name, attributes) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  return parent.appendChild(element);
}

// Floats there until the first boat comes.
const PAPER_BOAT = {
  bodies_mm: [[[-32, 0], [32, 0], [62, 30], [-62, 30]]], floods: true, depth_mm: 30, draft_mm: 11,
};

const corners = (body) => body.map(([x, y]) => `${x},${-y}`).join(" ");
const ends = (bodies) => {
  const xs = bodies.flat().map(([x]) => x);
  return [Math.min(...xs), Math.max(...xs)];
};

function wave(from, to, step, height, floor) {
  let path = `M${from} 0`;
  for (let x = from; x < to; x += step) {
    path += `q${step / 4} ${-height} ${step / 2} 0t${step / 2} 0`;
  }
  return floor == null ? path : `${path}V${floor}H${from}Z`;
}

/** Width of the hull at a height, for laying items inside. */
function reach(profile, height) {
  const xs = [];
  profile.forEach(([x1, y1], i) => {
    const [x2, y2] = profile[(i + 1) % profile.length];
    if (y1 !== y2 && height >= Math.min(y1, y2) && height <= Math.max(y1, y2)) {
      xs.push(x1 + ((x2 - x1) * (height - y1)) / (y2 - y1));
    }
  });
  return xs.length ? [Math.min(...xs), Math.max(...xs)] : [0, 0];
}

/** In an open boat items lie on the bottom, in both hulls of a twin; on a raft they lie on its deck. */
function drawItems(group, hull, width, count) {
  const item = { w: width / 14, h: Math.max(width / 45, hull.depth_mm / 28) };
  const wanted = Math.min(count, MOST_ITEMS_DRAWN);
  if (!hull.floods) {
    const [left, right] = ends(hull.bodies_mm);
    pile(group, () => [left, right], hull.depth_mm, item, wanted);
    return;
  }
  hull.bodies_mm.forEach((body, i) => {
    const share = Math.floor((wanted + i) / hull.bodies_mm.length);
    pile(group, (height) => reach(body, Math.min(height, hull.depth_mm)), 0, item, share);
  });
}

function pile(group, widthAt, floor, item, wanted) {
  let row = 0;
  let drawn = 0;
  while (drawn < wanted) {
    const [left, right] = widthAt(floor + item.h * (row + 0.6));
    const fits = Math.max(1, Math.floor((right - left - item.w * 0.8) / item.w));
    const inRow = Math.min(fits, wanted - drawn);
    const start = (left + right) / 2 - (fits * item.w) / 2;
    for (let i = 0; i < inRow; i += 1) {
      draw(group, "rect", {
        class: "item",
        x: start + i * item.w + item.w * 0.06,
        y: -(floor + item.h * (row + 1.2)),
        width: item.w * 0.88,
        height: item.h * 0.92,
        rx: item.h * 0.4,
      });
    }
    drawn += inRow;
    row += 1;
  }
}

/** Take over an <svg>; `show(view)` draws {hull, draft_mm, items, text, down}. */
export function createHullView(svg) {
  let view = { hull: null };
  let drawnFor = "";

  function show(next) {
    view = next;
    paint();
  }

  function paint() {
    const box = svg.getBoundingClientRect();
    if (!box.width || !box.height) return;
    const hull = view.hull ?? PAPER_BOAT;
    const [left, right] = ends(hull.bodies_mm);
    const width = right - left;
    const mast = Math.max(hull.depth_mm * 0.7, width * 0.16);
    // Room for the empty boat riding high, and for the laden one down to its rim.
    const px = Math.min(
      (box.width * 0.64) / width,
      (box.height * SURFACE * 0.98) / (hull.depth_mm * 0.95 + mast),
      (box.height * (1 - SURFACE) * 0.9) / hull.depth_mm,
    );
    const [w, h] = [box.width / px, box.height / px];
    const key = JSON.stringify([hull, Math.round(box.width), Math.round(box.height), view.items, !view.hull]);
    if (key !== drawnFor) {
      drawnFor = key;
      svg.setAttribute("viewBox", `${-w * MIDDLE} ${-h * SURFACE} ${w} ${h}`);
      build(hull, width, mast, w, h, px);
    }
    place(hull, px);
  }

  function build(hull, width, mast, w, h, px) {
    svg.replaceChildren();
    const defs = draw(svg, "defs", {});
    const depth = draw(defs, "linearGradient", { id: "depth", x1: 0, y1: 0, x2: 0, y2: 1 });
    draw(depth, "stop", { offset: 0, "stop-color": "#2c6e91", "stop-opacity": 0.34 });
    draw(depth, "stop", { offset: 1, "stop-color": "#1d4f6e", "stop-opacity": 0.62 });
    const step = 130 / px;
    const reachOut = w + 2 * step;
    const washes = (drift, lift, shift) =>
      draw(svg, "g", {
        class: `drift ${drift}`,
        style: `--drift: ${shift * step}px`,
        transform: `translate(0 ${lift / px})`,
      });
    const back = washes("back", 3, -0.5);
    draw(back, "path", { class: "wash", d: wave(-reachOut, reachOut, step, 7 / px, h) });

    const boat = draw(svg, "g", { class: "boat" });
    const rim = hull.depth_mm;
    if (hull === PAPER_BOAT) {
      draw(boat, "polygon", { class: "shell", points: corners([[-24, rim], [24, rim], [0, rim * 2]]) });
      draw(boat, "polygon", { class: "shell", points: corners(hull.bodies_mm[0]) });
    } else {
      draw(boat, "path", { class: "mast", d: `M0 ${hull.floods && hull.bodies_mm.length === 1 ? 0 : -rim}V${-(rim + mast)}` });
      draw(boat, "path", {
        class: "pennant",
        d: `M0 ${-(rim + mast)}l${mast * 0.62} ${mast * 0.2}l${-mast * 0.62} ${mast * 0.2}Z`,
      });
      if (hull.bodies_mm.length > 1 && hull.floods) { // what joins the two hulls of a twin
        const [left, right] = ends(hull.bodies_mm);
        draw(boat, "path", { class: "deck", d: `M${left} ${-rim}H${right}` });
      }
      for (const body of hull.bodies_mm) draw(boat, "polygon", { class: "shell", points: corners(body) });
      drawItems(draw(boat, "g", {}), hull, width, view.items ?? 0);
      for (let mark = 10; mark < rim; mark += 10) {
        const [left] = reach(hull.bodies_mm[0], mark); // draft marks, one a centimetre
        draw(boat, "path", { class: "tick", d: `M${left} ${-mark}h${10 / px}` });
      }
    }
    const front = washes("", 0, 0.5);
    draw(front, "path", { class: "wash", d: wave(-reachOut, reachOut, step, CREST / px, h) });
    draw(front, "path", { class: "skin", d: wave(-reachOut, reachOut, step, CREST / px) });
    draw(svg, "g", { class: "gauge" }); // in front of the water
  }

  function place(hull, px) {
    const boat = svg.querySelector(".boat");
    const [left, right] = ends(hull.bodies_mm);
    const deep = hull.depth_mm * 1.15 + (right - left) * 0.055;
    const leans = hull.heel_deg ?? 0;
    const afloat = leans && hull.sunk_mm != null ? hull.sunk_mm : (view.draft_mm ?? hull.draft_mm ?? 0);
    boat.classList.toggle("down", Boolean(view.down));
    boat.style.transform = `translateY(${view.down ? deep : afloat}px) rotate(${leans || (view.down ? 6 : 0)}deg)`;

    const gauge = svg.querySelector(".gauge");
    gauge.replaceChildren();
    if (view.down || leans || !view.hull || view.draft_mm == null || !view.text) return;
    const rimAt = view.draft_mm - hull.depth_mm;
    const x = right + 16 / px;
    const room = svg.clientWidth * 0.27 - 34; // for some four and a half ems of text
    const size = Math.max(15, Math.min(30, svg.clientHeight / 11, room / 4.6)) / px;
    draw(gauge, "path", { class: "measure", d: `M${right + 4 / px} ${rimAt}H${x + 6 / px}M${x} ${rimAt}V0` });
    draw(gauge, "text", {
      x: x + 10 / px,
      y: Math.min(rimAt / 2 + size * 0.35, -size * 0.15 - CREST / px), // clear of the waves
      "font-size": size,
    }).textContent = view.text;
  }

  new ResizeObserver(paint).observe(svg);
  return { show };
}
