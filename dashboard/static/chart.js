// The sinking curve: freeboard over load, with the prediction. Arrives when plotly.js has.

import { digitsFor, fill, grams, itemName, number, words } from "./format.js";

const w = words.board;
const REDRAW_MS = 250; // known to be bearable on a slow laptop
const TRACE_POINTS = 1500;
const INK = "#1c2a38";
const WATER = "#2c6e91";
const PENCIL = "#655e50";
const FLAG = "#a83a24";
const PALE = "rgba(101,94,80,.2)";
// The curve falls from the left, so the upper right is free; a phone has no room to spare.
const INSIDE = { x: 1, xanchor: "right", y: 1, yanchor: "top" };
const ABOVE = { orientation: "h", x: 0, xanchor: "left", y: 1.02, yanchor: "bottom" };

const FROM_LEFT = { xref: "paper", x: 0.015, xanchor: "left" };

const rem = () => parseFloat(getComputedStyle(document.documentElement).fontSize);

function loadScript(address) {
  return new Promise((resolve, reject) => {
    const script = document.createElement("script");
    script.src = address;
    script.onload = resolve;
    script.onerror = reject;
    document.head.append(script);
  });
}

/** Take over an element; `setRig`, `setTrial`, `setNow` may be called long before plotly.js is there. */
export function createChart(element) {
  const state = { rig: {}, trial: {}, now: {}, path: [], pathOf: null };
  let plotly = null;
  let waiting = null;
  let drawn_ms = -Infinity;

  const x = (point) => (state.rig.item ? (point.load_items ?? point.items) : point.load_g);

  function redrawSoon() {
    if (!plotly || waiting || state.trial.boat == null) return;
    const wait_ms = Math.max(0, REDRAW_MS - (performance.now() - drawn_ms));
    waiting = setTimeout(() => {
      waiting = null;
      drawn_ms = performance.now();
      element.querySelector(".coming")?.remove();
      plotly.react(element, traces(), layout(), { displayModeBar: false, responsive: true, staticPlot: false });
    }, wait_ms);
  }

  function hover(point) {
    const load = grams(point.load_g, point.load_g_sd);
    const digits = digitsFor(point.freeboard_mm_sd);
    const wall = fill(w.freeboard_mm, { freeboard: number(point.freeboard_mm, digits) });
    const sd = point.freeboard_mm_sd;
    const spread = sd == null ? "" : ` ${fill(w.plus_minus_mm, { sd: number(sd, digits) })}`;
    return `${load}<br>${wall}${spread}`;
  }

  function traces() {
    const { trial, now, path } = state;
    const measured = (trial.curve ?? []).filter((p) => p.freeboard_mm != null && x(p) != null);
    const predicted = (trial.prediction?.curve ?? []).filter((p) => x(p) != null);
    const showNow = !trial.result && now.trial_number === trial.number && now.freeboard_mm != null && x(now) != null;
    const dot = Math.max(12, rem() * 0.75);
    const hovers = { hovertemplate: "%{text}<extra></extra>" };
    const band = (trial.prediction?.band ?? []).filter((p) => x(p) != null);
    const back = [...band].reverse();
    return [
      {
        name: w.chart_band, mode: "lines", fill: "toself", fillcolor: PALE, line: { width: 0 }, hoverinfo: "skip",
        x: [...band, ...back].map(x), y: [...band.map((p) => p.low_mm), ...back.map((p) => p.high_mm)],
      },
      {
        name: w.chart_prediction, mode: "lines", x: predicted.map(x),
        y: predicted.map((p) => p.freeboard_mm), text: predicted.map(hover), ...hovers,
        line: { color: PENCIL, width: 4, dash: "dash" },
      },
      {
        name: w.chart_trace, mode: "lines", x: path.map((p) => p.x), y: path.map((p) => p.y),
        hoverinfo: "skip", showlegend: false, line: { color: WATER, width: 1.5 }, opacity: 0.7,
      },
      {
        name: w.chart_plateau, mode: "markers", x: measured.map(x),
        y: measured.map((p) => p.freeboard_mm), text: measured.map(hover), ...hovers,
        error_y: {
          type: "data", array: measured.map((p) => p.freeboard_mm_sd ?? 0),
          color: INK, thickness: 2, width: 5,
        },
        marker: { color: measured.map((p) => (p.held ? WATER : "#fffdf7")), size: dot,
          line: { color: INK, width: 2 } },
      },
      {
        name: w.chart_now, mode: "markers", x: showNow ? [x(now)] : [], y: showNow ? [now.freeboard_mm] : [],
        hoverinfo: "skip", marker: { symbol: "diamond", color: FLAG, size: dot * 1.5, line: { color: INK, width: 2 } },
      },
    ];
  }

  function layout() {
    const { rig, trial, now, path } = state;
    const band = trial.prediction?.band ?? [];
    const points = [...(trial.prediction?.curve ?? []), ...(trial.curve ?? []), ...band];
    const farX = Math.max(1, ...points.map((p) => x(p) ?? 0), x(now) ?? 0) * 1.06;
    const highest = Math.max(1, ...points.map((p) => p.freeboard_mm ?? p.high_mm ?? 0), ...path.map((p) => p.y)) * 1.08;
    const deepest = Math.min(0, ...band.map((p) => p.low_mm), ...path.map((p) => p.y));
    const lowest = Math.min(-highest * 0.13, deepest * 1.1);
    // Where the band dips under nought; its words stand left of it, in the water.
    const dips = band.findIndex((p) => p.low_mm < 0 && x(p) != null);
    const dryRim = dips > 0 ? [band[dips - 1]] : [];
    const narrow = element.clientWidth < 560;
    const font = { family: getComputedStyle(document.body).fontFamily, size: Math.max(13, rem() * 1.12), color: INK };
    const axis = { gridcolor: "#d5dfdc", zeroline: false, linecolor: INK, linewidth: 2, ticks: "outside",
      tickcolor: INK, automargin: true, fixedrange: true };
    return {
      font, autosize: true, paper_bgcolor: "transparent", plot_bgcolor: "#fdfaf2",
      margin: { l: 10, r: 14, t: 8, b: 10 },
      showlegend: true,
      legend: { ...(narrow ? ABOVE : INSIDE), bgcolor: "rgba(253,250,242,.85)",
        itemclick: false, itemdoubleclick: false },
      hoverlabel: { font: { ...font, color: "#fffdf7" }, bgcolor: INK, bordercolor: INK },
      dragmode: false,
      xaxis: { ...axis, range: [-farX * 0.02, farX], rangemode: "tozero",
        title: { text: rig.item ? fill(w.chart_x_items, { item: itemName(rig.item, 2) }) : w.chart_x_grams } },
      yaxis: { ...axis, range: [lowest, highest], nticks: 6 },
      shapes: [
        { type: "rect", xref: "paper", x0: 0, x1: 1, y0: lowest, y1: 0, line: { width: 0 }, fillcolor: WATER, opacity: 0.32, layer: "below" },
        { type: "line", xref: "paper", x0: 0, x1: 1, y0: 0, y1: 0, line: { color: WATER, width: 3 }, layer: "below" },
      ],
      annotations: [
        // The curve falls from the left: above the line its foot is free.
        { ...FROM_LEFT, y: 0, yanchor: "bottom", text: w.chart_rim, showarrow: false, font },
        ...dryRim.map((p) => ({ ...(narrow ? FROM_LEFT : { x: x(p), xanchor: "right" }), y: lowest / 2, yanchor: "middle",
          text: w.chart_dry_rim, showarrow: false, font: { ...font, size: narrow ? 13 : rem() } })),
      ],
    };
  }

  async function bring(triesLeft) {
    const coming = element.querySelector(".coming");
    try {
      await loadScript(element.dataset.script);
    } catch {
      if (triesLeft > 0) setTimeout(() => bring(triesLeft - 1), 5000);
      else coming.textContent = w.chart_failed;
      return;
    }
    coming.textContent = w.chart_empty;
    plotly = window.Plotly;
    redrawSoon();
  }

  // After everything else: the numbers must never wait for the big script.
  if (document.readyState === "complete") bring(3);
  else window.addEventListener("load", () => bring(3), { once: true });
  window.addEventListener("resize", redrawSoon);

  return {
    setRig(rig) {
      state.rig = rig;
      redrawSoon();
    },
    setTrial(trial) {
      state.trial = trial;
      redrawSoon();
    },
    setNow(now) {
      state.now = now;
      const timed = now.at_s != null; // between trials there is no time, and the trail stays
      // A trail belongs to one trial; a page may learn of a trial after its first numbers.
      if (timed && (now.trial_number !== state.pathOf || now.at_s < state.path.at(-1)?.at_s)) {
        Object.assign(state, { path: [], pathOf: now.trial_number });
      }
      if (timed && now.freeboard_mm != null && x(now) != null && now.at_s !== state.path.at(-1)?.at_s) {
        state.path.push({ at_s: now.at_s, x: x(now), y: now.freeboard_mm });
        if (state.path.length > TRACE_POINTS) state.path.shift();
      }
      redrawSoon();
    },
  };
}
