// How the page looks: light or dark, and whether anything moves that need not.

import { el } from "./dom.js";
import { chooseUnits, say, units } from "./words.js";

const KEPT = "idlewright-theme";
const dark = matchMedia("(prefers-color-scheme: dark)");
const still = matchMedia("(prefers-reduced-motion: reduce)");

/** @type {Set<() => void>} */
const told = new Set();

function kept() {
  try {
    return localStorage.getItem(KEPT) ?? "auto";
  } catch {
    return "auto";
  }
}

function show() {
  const theme = kept();
  const night = theme === "night" || (theme !== "board" && dark.matches);
  document.documentElement.dataset.theme = night ? "night" : "board";
  for (const tell of told) tell();
}

/** Puts the theme on; follows the system until somebody chooses. */
export function startLook() {
  dark.addEventListener("change", show);
  show();
}

/** @param {() => void} tell called when colours have changed */
export function onLook(tell) {
  told.add(tell);
}

/** Nothing is to move that need not. */
export function isStill() {
  return still.matches;
}

/** The theme's choice with its label: as the system, light, dark. */
export function themeChoice() {
  const all = [
    ["auto", "seat-theme-auto"],
    ["board", "seat-theme-board"],
    ["night", "seat-theme-night"],
  ];
  const select = el(
    "select",
    {
      onChange: () => {
        try {
          localStorage.setItem(KEPT, select.value);
        } catch {
          // kept for this page alone
        }
        show();
      },
    },
    ...all.map(([value, id]) => el("option", { value, text: say(id), selected: value === kept() })),
  );
  return el("label", { class: "theme small soft" }, say("seat-theme"), select);
}

/** The choice of units with its label. */
export function unitsChoice() {
  const all = [
    ["metric", "seat-units-metric"],
    ["us", "seat-units-us"],
  ];
  const select = el(
    "select",
    { onChange: () => chooseUnits(select.value) },
    ...all.map(([value, id]) => el("option", { value, text: say(id), selected: value === units() })),
  );
  return el("label", { class: "theme small soft" }, say("seat-units"), select);
}

/** Colours by their names, as they stand now. */
export function colours() {
  const style = getComputedStyle(document.documentElement);
  const names = ["bg", "panel", "ink", "text", "soft", "pencil", "meas", "accent", "ok", "fuel", "hot", "gas", "air", "line", "edge", "metal"];
  return Object.fromEntries(names.map((name) => [name, style.getPropertyValue(`--${name}`).trim()]));
}
