// Elements made and kept up to date. Text is put by textContent alone, so that a name or a note is never markup.

/** @typedef {Node | string | number | null | undefined | false} Child */

const SVG = "http://www.w3.org/2000/svg";

/**
 * Attributes, listeners (`onClick`) and properties put on an element. `undefined`, `null` and `false` take an attribute off;
 * ARIA states are words, so `false` stays there.
 * @param {Element} node
 * @param {Record<string, any>} props
 */
export function put(node, props) {
  for (const [key, value] of Object.entries(props)) {
    if (key.startsWith("on") && typeof value === "function") {
      node.addEventListener(key.slice(2).toLowerCase(), value);
    } else if (key === "text") {
      setText(node, String(value));
    } else if (key.startsWith("aria-") || key === "role") {
      if (value === undefined || value === null) node.removeAttribute(key);
      else if (node.getAttribute(key) !== String(value)) node.setAttribute(key, String(value));
    } else if (value === undefined || value === null || value === false) {
      node.removeAttribute(key);
    } else {
      const words = value === true ? "" : String(value);
      if (node.getAttribute(key) !== words) node.setAttribute(key, words);
    }
  }
}

/**
 * An HTML element with what stands in it.
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {Record<string, any> | null} [props]
 * @param {...Child} children
 * @returns {HTMLElementTagNameMap[T]}
 */
export function el(tag, props, ...children) {
  const node = document.createElement(tag);
  if (props) put(node, props);
  add(node, children);
  return node;
}

/**
 * An SVG element with what stands in it.
 * @template {keyof SVGElementTagNameMap} T
 * @param {T} tag
 * @param {Record<string, any> | null} [props]
 * @param {...Child} children
 * @returns {SVGElementTagNameMap[T]}
 */
export function svg(tag, props, ...children) {
  const node = document.createElementNS(SVG, tag);
  if (props) put(node, props);
  add(node, children);
  return /** @type {SVGElementTagNameMap[T]} */ (node);
}

/**
 * @param {Element} node
 * @param {Child[]} children
 */
function add(node, children) {
  for (const child of children) {
    if (child === null || child === undefined || child === false) continue;
    node.append(typeof child === "object" ? child : String(child));
  }
}

/**
 * A text that has changed.
 * @param {Element} node
 * @param {string} text
 */
export function setText(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

/**
 * All that stands in an element, put anew.
 * @param {Element} node
 * @param {...Child} children
 */
export function fill(node, ...children) {
  node.replaceChildren();
  add(node, children);
}

/**
 * Children by a key: those that stay keep their element, and with it the focus.
 * @template T
 * @param {Element} parent
 * @param {T[]} items
 * @param {(item: T) => string} keyOf
 * @param {(item: T) => Element} make
 * @param {(node: any, item: T) => void} [update]
 */
export function keyed(parent, items, keyOf, make, update) {
  /** @type {Map<string, Element>} */
  const old = new Map();
  for (const node of [...parent.children]) {
    const key = node.getAttribute("data-key");
    if (key === null) node.remove();
    else old.set(key, node);
  }
  let at = parent.firstElementChild;
  for (const item of items) {
    const key = keyOf(item);
    let node = old.get(key);
    if (node) {
      old.delete(key);
    } else {
      node = make(item);
      node.setAttribute("data-key", key);
    }
    if (node === at) at = at.nextElementSibling;
    else parent.insertBefore(node, at);
    // it stands in its place by now, so that a canvas knows how large it is
    update?.(node, item);
  }
  for (const node of old.values()) node.remove();
}

/**
 * Does something only where what it was done for has changed.
 * @returns {(of: unknown, then: () => void) => void}
 */
export function whenChanged() {
  let last = "\u0000";
  return (of, then) => {
    const now = JSON.stringify(of) ?? "";
    if (now === last) return;
    last = now;
    then();
  };
}

/**
 * A table with a row of heads.
 * @param {string} caption
 * @param {string[]} heads
 * @param {string[][]} rows
 * @param {boolean[]} [numbers] columns that hold numbers
 */
export function table(caption, heads, rows, numbers = []) {
  const number = (/** @type {number} */ k) => (numbers[k] ? "number" : undefined);
  return el(
    "table",
    null,
    el("caption", { class: "sight-less", text: caption }),
    el("thead", null, el("tr", null, ...heads.map((h, k) => el("th", { scope: "col", class: number(k), text: h })))),
    el(
      "tbody",
      null,
      ...rows.map((row) =>
        el(
          "tr",
          null,
          ...row.map((cell, k) =>
            k === 0 ? el("th", { scope: "row", text: cell }) : el("td", { class: number(k), text: cell }),
          ),
        ),
      ),
    ),
  );
}

/**
 * One of several as a row of keys; arrows move between them, as in a group of radio buttons.
 * @template V
 * @param {string} name what is chosen
 * @param {[V, string, string?][]} options value, words, key
 * @param {(value: V) => void} chosen
 * @returns {{ node: HTMLElement, show: (value: V | null) => void, allow: (ok: boolean) => void }}
 */
export function oneOf(name, options, chosen) {
  const same = (/** @type {unknown} */ a, /** @type {unknown} */ b) => JSON.stringify(a) === JSON.stringify(b);
  const buttons = options.map(([value, words, key]) =>
    el("button", {
      type: "button",
      role: "radio",
      "aria-checked": "false",
      "aria-keyshortcuts": key,
      title: key ? `${words} (${key})` : undefined,
      text: words,
      onClick: () => chosen(value),
    }),
  );
  const node = el("div", { class: "one", role: "radiogroup", "aria-label": name }, ...buttons);
  node.addEventListener("keydown", (e) => {
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[e.key];
    if (!step) return;
    const at = buttons.indexOf(/** @type {any} */ (document.activeElement));
    if (at < 0) return;
    e.preventDefault();
    buttons[(at + step + buttons.length) % buttons.length].focus();
  });
  const show = (/** @type {V | null} */ value) => {
    let on = 0;
    options.forEach(([v], k) => {
      const is = same(v, value);
      put(buttons[k], { "aria-checked": is });
      if (is) on = k;
    });
    buttons.forEach((b, k) => {
      b.tabIndex = k === on ? 0 : -1;
    });
  };
  show(null);
  const allow = (/** @type {boolean} */ ok) => buttons.forEach((b) => (b.disabled = !ok));
  return { node, show, allow };
}

/**
 * A sheet in front of everything. What is behind it cannot be reached while it stands; Escape puts it away where it may be.
 * @param {string} title
 * @param {{ wide?: boolean, away?: string | null, closed?: () => void }} [how] `away`: words of the button that puts it away; null for none
 */
export function sheet(title, how = {}) {
  const head = el("h2", { id: `sheet-${++sheets}`, tabindex: "-1", text: title });
  const body = el("div", { class: "sheet-body" });
  const foot = el("div", { class: "sheet-foot", hidden: true });
  const node = el("dialog", { class: how.wide ? "wide" : undefined, "aria-labelledby": head.id });
  const close = () => {
    if (node.open) node.close();
  };
  const away =
    how.away === null || how.away === undefined
      ? null
      : el("button", { type: "button", class: "away", onClick: close, text: how.away });
  node.append(el("div", { class: "sheet-head" }, head, away), body, foot);
  if (!away) node.addEventListener("cancel", (e) => e.preventDefault());
  node.addEventListener("close", () => {
    how.closed?.();
    node.remove();
  });
  const before = document.activeElement;
  node.addEventListener("close", () => {
    if (before instanceof HTMLElement && before.isConnected) before.focus();
  });
  document.body.append(node);
  node.showModal();
  // a title is read first, and nothing is pressed by a key that was meant for what stood behind
  head.focus();
  return {
    node,
    body,
    foot,
    title: head,
    close,
    /** @param {...HTMLElement} buttons */
    buttons(...buttons) {
      foot.replaceChildren(...buttons);
      foot.hidden = buttons.length === 0;
    },
  };
}
let sheets = 0;

/** @returns {boolean} a sheet stands in front */
export function inFront() {
  return document.querySelector("dialog[open]") !== null;
}

/**
 * @param {string} words
 * @param {() => void} pressed
 * @param {string} [kind]
 */
export function button(words, pressed, kind) {
  return el("button", { type: "button", class: kind, onClick: pressed, text: words });
}

/**
 * The sign of a gate with its sentence.
 * @param {boolean} open
 * @param {string} words
 * @param {string} spoken what the sign means, for who does not see it
 */
export function gate(open, words, spoken) {
  const sign = svg("svg", { viewBox: "0 0 20 20", "aria-hidden": "true" });
  if (open) sign.append(svg("path", { d: "M4 18V2M4 4h11" }));
  else sign.append(svg("path", { d: "M3 3h14v14H3zM3 10h14" }));
  return el(
    "li",
    { class: open ? "gate open" : "gate shut" },
    sign,
    el("span", null, el("span", { class: "sight-less", text: `${spoken} ` }), words),
  );
}
