// What can be done, as the server offers it: lines that open and show what they need; a second press does it.

import { button, el, fill, keyed, put, setText } from "./dom.js";
import { metric, say, shown, shownUnit } from "./words.js";

/**
 * @typedef {object} Field
 * @property {string} key stands in the act where the value goes
 * @property {string} name
 * @property {[any, string][]} [of] values to choose from
 * @property {{ low: number, high: number, start: number, unit: string, step?: number }} [number]
 * @property {boolean} [flag]
 * @property {number} [text] most letters
 * @property {boolean} [optional]
 *
 * @typedef {object} Item
 * @property {string} id
 * @property {string} name
 * @property {string} [price]
 * @property {string[]} [mind]
 * @property {string | null} [caution]
 * @property {any} act
 * @property {Field[]} [fields]
 * @property {[string, any][]} [acts] several acts of one line: words and act
 * @property {string} [button]
 *
 * @typedef {{ text: string, wrong?: boolean }} Told what came of what was pressed
 */

/**
 * An act with the values that were chosen.
 * @param {any} act
 * @param {Map<string, any>} values
 * @returns {any}
 */
export function chosenAct(act, values) {
  if (typeof act === "string") return values.has(act) ? values.get(act) : act;
  if (Array.isArray(act)) return act.map((part) => chosenAct(part, values));
  if (act && typeof act === "object") {
    return Object.fromEntries(Object.entries(act).map(([key, part]) => [key, chosenAct(part, values)]));
  }
  return act;
}

let ids = 0;

/**
 * A field's control; what it holds now is given by `value`, none while it holds nothing that can be used.
 * @param {Field} field
 */
function control(field) {
  if (field.of && field.of.length <= 8 && field.of.every(([, words]) => words.length <= 3)) {
    // none is chosen before somebody chose it: the wrong cylinder is soon taken apart
    /** @type {any} */
    let now;
    const name = `f${++ids}`;
    const all = field.of.map(([value, words]) =>
      el(
        "label",
        { class: "number-choice" },
        el("input", { type: "radio", name, onChange: () => (now = value) }),
        words,
      ),
    );
    return {
      node: el("fieldset", { class: "field" }, el("legend", { class: "soft small", text: field.name }), el("div", { class: "row" }, ...all)),
      value: () => now,
      tells: () => say("seat-field-choose"),
    };
  }
  const id = `f${++ids}`;
  const labelled = (/** @type {HTMLElement} */ input, /** @type {string} */ unit) =>
    el(
      "div",
      { class: "field" },
      el("label", { for: id, class: "soft small", text: field.name }),
      unit ? el("span", { class: "row" }, input, el("span", { class: "soft", text: unit })) : input,
    );
  if (field.of) {
    const select = el("select", { id }, ...field.of.map(([, words], k) => el("option", { value: String(k), text: words })));
    return { node: labelled(select, ""), value: () => field.of?.[Number(select.value)]?.[0] };
  }
  if (field.number) {
    const { unit, step } = field.number;
    // typed in the units that are shown; an act is metric
    const as = shownUnit(unit);
    const told = (/** @type {number} */ x) => (as === unit ? x : Number(shown(x, unit).toFixed(2)));
    const [low, high, start] = [field.number.low, field.number.high, field.number.start].map(told);
    const input = el("input", { id, type: "number", inputmode: "decimal", min: low, max: high, step: step ?? "any", value: start });
    const value = () => {
      const x = input.valueAsNumber;
      const good = Number.isFinite(x) && x >= low && x <= high;
      put(input, { "aria-invalid": good ? undefined : "true" });
      if (!good) return undefined;
      // the ends were rounded
      return Math.min(Math.max(metric(x, unit), /** @type {any} */ (field.number).low), /** @type {any} */ (field.number).high);
    };
    return { node: labelled(input, as), value, tells: () => say("seat-field-range", { low, high, unit: as }), input };
  }
  if (field.text) {
    const input = el("input", {
      id,
      type: "text",
      maxlength: field.text,
      autocomplete: "off",
      autocapitalize: "off",
      spellcheck: "false",
      placeholder: field.optional ? say("seat-field-any") : undefined,
    });
    const value = () => {
      const text = input.value.trim();
      if (text === "") return field.optional ? null : undefined;
      return text;
    };
    return { node: labelled(input, ""), value, tells: () => say("seat-field-empty"), input };
  }
  const input = el("input", { type: "checkbox", checked: field.flag === true });
  return { node: el("label", { class: "field tick" }, input, field.name), value: () => input.checked };
}

/**
 * What stands open under a line.
 * @param {Item} item
 * @param {string} does words of the button that does it
 * @param {(act: any, item: Item) => void} doIt
 * @param {boolean} [single] the price stands on the button
 */
export function inside(item, does, doIt, single = true) {
  const controls = (item.fields ?? []).map((field) => ({ field, ...control(field) }));
  const wrong = el("p", { class: "accent small", role: "alert" });
  const press = (/** @type {any} */ act) => {
    const values = new Map();
    for (const c of controls) {
      const value = c.value();
      if (value === undefined) {
        setText(wrong, `${c.field.name}: ${/** @type {any} */ (c).tells?.() ?? ""}`);
        /** @type {any} */ (c).input?.focus();
        return;
      }
      values.set(c.field.key, value);
    }
    setText(wrong, "");
    doIt(chosenAct(act, values), item);
  };
  const priced = (/** @type {string} */ words) =>
    single && item.price ? say("seat-priced", { what: words, price: item.price }) : words;
  const buttons = item.acts
    ? item.acts.map(([words, act]) => button(priced(words), () => press(act), "does"))
    : [button(priced(item.button ?? does), () => press(item.act), "does main")];
  const node = el(
    "div",
    { class: "rows inside" },
    ...(item.mind ?? []).map((text) => el("p", { class: "soft small", text })),
    item.caution ? el("p", { class: "accent small caution", text: item.caution }) : null,
    ...controls.map((c) => {
      c.node.setAttribute("data-field", c.field.key.replace("$", ""));
      return c.node;
    }),
    wrong,
    el("div", { class: "row" }, ...buttons),
    el("div", { class: "rows answer", role: "status" }),
  );
  node.addEventListener("change", () => setText(wrong, ""));
  return node;
}

/**
 * A group's lines, one open at a time.
 * @param {string} does
 * @param {(act: any, item: Item) => void} doIt
 */
export function lines(does, doIt) {
  const node = el("ul", { class: "offers" });
  /** @type {string | null} */
  let open = null;
  /** @type {Item[]} */
  let items = [];
  /** @type {Map<string, Told[]>} */
  const told = new Map();
  const toggle = (/** @type {string} */ id) => {
    open = open === id ? null : id;
    show(items);
    // a line that was opened at the edge comes into sight as a whole
    if (open === id) node.querySelector(`[data-key="${id}"]`)?.scrollIntoView({ block: "nearest" });
  };
  /** @param {Element} body @param {Told[]} all */
  const tell = (body, all) => {
    const box = body.querySelector(".answer");
    if (box) fill(box, ...all.map((t) => el("p", { class: t.wrong ? "accent strong" : "strong meas", text: t.text })));
  };
  const show = (/** @type {Item[]} */ all) => {
    items = all;
    keyed(
      node,
      items,
      (item) => item.id,
      (item) => {
        const body = el("div", { id: `offer-${++ids}` });
        const head = el(
          "button",
          { type: "button", class: "offer plain", "aria-controls": body.id, onClick: () => toggle(item.id) },
          el("span", { text: item.name }),
          el("span", { class: "figure soft small", text: item.price ?? "" }),
        );
        return el("li", null, head, body);
      },
      (li, item) => {
        const [head, body] = li.children;
        const is = open === item.id;
        put(head, { "aria-expanded": is });
        if (is && !body.firstChild) {
          fill(body, inside(item, does, doIt));
          tell(body, told.get(item.id) ?? []);
        }
        if (!is && body.firstChild) fill(body);
        body.hidden = !is;
      },
    );
  };
  /**
   * What came of a line stands under its button, and comes into sight.
   * @param {string} id @param {Told[]} all
   */
  const answer = (id, all) => {
    if (JSON.stringify(told.get(id) ?? []) === JSON.stringify(all)) return;
    told.set(id, all);
    const body = node.querySelector(`[data-key="${id}"]`)?.lastElementChild;
    if (open !== id || !body) return;
    tell(body, all);
    // a question that stood in front gives the focus back first
    if (all.length) setTimeout(() => body.querySelector(".answer")?.scrollIntoView({ block: "nearest" }), 150);
  };
  const forget = () => {
    told.clear();
    open = null;
    fill(node);
  };
  return { node, show, answer, forget };
}
