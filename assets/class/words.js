// Messages of the page, in the language of the server.

/** @type {Record<string, string>} */
let messages = {};

/** Fetches them; what is missing is shown by its name, so that it is found. */
export async function loadWords() {
  const answer = await fetch("words.json");
  if (answer.ok) messages = await answer.json();
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
