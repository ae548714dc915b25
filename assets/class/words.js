// Messages of the page, in the language of the server.

/** @type {Record<string, string>} */
let messages = {};

/**
 * Metric units that are shown as others: each with its name, what a number is multiplied by, what is then added, decimals.
 * @type {Map<string, [string, number, number, number]>}
 */
const others = new Map();

const KEPT_UNITS = "idlewright-units";

/** Units of this browser, `us` or `metric`: `?units=us` in the address chooses them, and they are kept. */
export function units() {
  const asked = new URLSearchParams(location.search).get("units");
  const known = (/** @type {string | null} */ word) => (word === "us" || word === "metric" ? word : null);
  try {
    if (known(asked)) localStorage.setItem(KEPT_UNITS, /** @type {string} */ (asked));
    return known(localStorage.getItem(KEPT_UNITS)) ?? "metric";
  } catch {
    return known(asked) ?? "metric";
  }
}

/** The address of a document, asked for in the units of this page. @param {string} address */
export function inUnits(address) {
  return units() === "us" ? `${address}?units=us` : address;
}

/** Chooses units: the page is loaded again in them. @param {string} word */
export function chooseUnits(word) {
  const address = new URL(location.href);
  address.searchParams.delete("units");
  try {
    localStorage.setItem(KEPT_UNITS, word);
  } catch {
    // this browser keeps nothing: the address has to say it
    address.searchParams.set("units", word);
  }
  location.replace(address);
  if (address.href === location.href) location.reload();
}

/** Fetches them; what is missing is shown by its name, so that it is found. */
export async function loadWords() {
  const answer = await fetch("words.json");
  if (answer.ok) messages = await answer.json();
  if (units() !== "us") return;
  const table = await fetch("units.json");
  if (table.ok) for (const [unit, ...as] of await table.json()) others.set(unit, as);
}

/** A metric unit's name as it is shown. @param {string} unit */
export const shownUnit = (unit) => others.get(unit)?.[0] ?? unit;

/** A metric number as it is shown. @param {number} x @param {string} unit */
export function shown(x, unit) {
  const as = others.get(unit);
  return as ? x * as[1] + as[2] : x;
}

/** A number as it was typed, in metric units. @param {number} x @param {string} unit */
export function metric(x, unit) {
  const as = others.get(unit);
  return as ? (x - as[2]) / as[1] : x;
}

/**
 * A metric number with its unit as they are shown; these decimals are those of the metric unit.
 * @param {number} x @param {string} unit @param {number} decimals @param {(x: number, decimals: number) => string} [write]
 */
export function quantity(x, unit, decimals, write = number) {
  return `${write(shown(x, unit), others.get(unit)?.[3] ?? decimals)} ${shownUnit(unit)}`;
}

/**
 * The message of that name with values in it.
 * @param {string} id
 * @param {Record<string, string | number>} [values]
 */
export function say(id, values = {}) {
  const text = messages[id];
  if (text === undefined) return id;
  return text.replace(/\{\s*\$([\w-]+)\s*\}/g, (_, name) => String(values[name] ?? ""));
}

/** Everything that stands in the page with `data-say` is said. @param {ParentNode} root */
export function sayAll(root = document) {
  for (const node of root.querySelectorAll("[data-say]")) {
    node.textContent = say(/** @type {string} */ (node.getAttribute("data-say")));
  }
  for (const node of root.querySelectorAll("[data-say-label]")) {
    node.setAttribute("aria-label", say(/** @type {string} */ (node.getAttribute("data-say-label"))));
  }
}

/**
 * Time as minutes and seconds, with hours where there are any.
 * @param {number} s
 */
export function clock(s) {
  const whole = Math.max(0, Math.floor(Math.abs(s) + 1e-6));
  const two = (/** @type {number} */ n) => String(n).padStart(2, "0");
  const [h, m, rest] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60, whole % 60];
  const sign = s < 0 && whole > 0 ? "\u2212" : "";
  return `${sign}${h > 0 ? `${h}:${two(m)}` : m}:${two(rest)}`;
}

/**
 * A number with so many decimals, with a true minus.
 * @param {number} x
 * @param {number} decimals
 */
export function number(x, decimals) {
  if (!Number.isFinite(x)) return "–";
  const text = x.toFixed(decimals);
  return /^-0(\.0+)?$/.test(text) ? text.slice(1) : text.replace("-", "\u2212");
}

/**
 * The same with its sign.
 * @param {number} x
 * @param {number} decimals
 */
export function signed(x, decimals) {
  const text = number(x, decimals);
  return /^[\u2212–]/.test(text) || Number(text) === 0 ? text : `+${text}`;
}
