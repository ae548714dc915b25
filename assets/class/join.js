// The way into a class: its word, and a word of one's own.

import { button, el, setText } from "./dom.js";
import { startLook, themeChoice } from "./look.js";
import { loadWords, say } from "./words.js";

startLook();
await loadWords();
document.title = say("seat-title");

/** @param {string} id @param {string} words @param {string} help @param {Record<string, any>} [more] */
function named(id, words, help, more = {}) {
  const input = el("input", {
    id,
    type: "text",
    autocomplete: "off",
    autocapitalize: "off",
    spellcheck: "false",
    maxlength: 40,
    "aria-describedby": `${id}-help`,
    ...more,
  });
  const node = el("div", { class: "named" }, el("label", { for: id, class: "strong", text: words }), input, el("p", { id: `${id}-help`, class: "soft small", text: help }));
  return { node, input };
}

const word = named("class", say("join-class"), say("join-class-help"));
const seat = named("seat", say("join-seat"), say("join-seat-help"));
const code = named("code", say("join-code"), say("join-code-help"), { inputmode: "numeric" });
code.node.hidden = true;
const wrong = el("p", { class: "accent strong", role: "alert" });
const press = el("button", { class: "main", type: "submit", text: say("join-go") });
const again = button(say("join-again"), () => {
  code.node.hidden = false;
  code.input.focus();
  again.hidden = true;
});
const form = el("form", { novalidate: true }, word.node, seat.node, code.node, wrong, press);

// an address that was scanned brings the class's word along
const scanned = new URLSearchParams(location.hash.slice(1)).get("class");
if (scanned) word.input.value = scanned;

form.addEventListener("submit", async (e) => {
  e.preventDefault();
  const empty = [word.input, seat.input].find((input) => input.value.trim() === "");
  if (empty) {
    setText(wrong, say("join-both"));
    empty.focus();
    return;
  }
  press.disabled = true;
  try {
    const body = { class: word.input.value.trim(), seat: seat.input.value.trim(), ...(code.input.value.trim() ? { code: code.input.value.trim() } : {}) };
    const answer = await fetch("join", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
    if (answer.ok) {
      location.href = "seat";
      return;
    }
    const why = await answer.json().catch(() => null);
    const coded = answer.status === 403 && Boolean(code.input.value.trim());
    setText(wrong, coded ? say("join-wrong-code") : (why?.why ?? say("join-failed")));
  } catch {
    setText(wrong, say("join-no-line"));
  }
  press.disabled = false;
});

document.getElementById("app")?.append(
  el("h1", { text: say("join-title") }),
  el("p", { text: say("join-says") }),
  form,
  el("div", { class: "row foot" }, again, themeChoice()),
);
(word.input.value ? seat : word).input.focus();
