// What the instructor orders: jobs, notes, faults, questions to the class, an exam, marks.

import { button, el, fill, keyed, put, setText, sheet } from "./dom.js";
import { lines } from "./offers.js";
import { ask, hasMark, markWords, meant, order, tell, to, W } from "./wall.js";
import { number, say } from "./words.js";

/** For whom an order is, in words. */
function forWhom() {
  return W.chosen.size ? say("wall-for", { seats: meant().map((t) => t.word).join(", ") }) : say("wall-for-all");
}

/** Which lesson. @param {string} name @param {any[]} from those to choose from; the class's present one is chosen at first */
function lessons(name, from) {
  let level = 0;
  const given = new Set(meant().map((t) => t.lesson));
  const first = from.find((l) => given.has(l.id)) ?? from.find((l) => l.marked) ?? from[0];
  const list = el("div", { class: "rows" });
  const show = () =>
    fill(
      list,
      ...from
        .filter((l) => level === 0 || l.level === level || l.level === undefined)
        .map((l) =>
          el(
            "label",
            { class: "choice" },
            el("input", { type: "radio", name, value: l.id, checked: l === first }),
            el("span", null, el("span", { class: "strong", text: l.title }), el("br"), el("span", { class: "soft small", text: [l.id, l.car, l.marked ? say("wall-lesson-marked") : "", l.own ? say("wall-lesson-own") : ""].filter(Boolean).join(" · ") })),
          ),
        ),
    );
  show();
  const levels = el(
    "div",
    { class: "one" },
    ...["wall-level-all", "wall-level-1", "wall-level-2", "wall-level-3"].map((id, k) => {
      const b = button(say(id), () => {
        level = k;
        for (const other of levels.children) put(other, { "aria-pressed": other === b });
        show();
      });
      put(b, { "aria-pressed": k === 0 });
      return b;
    }),
  );
  const node = el("div", { class: "rows" }, from.some((l) => l.level !== undefined) ? levels : null, list);
  const value = () => /** @type {HTMLInputElement | null} */ (list.querySelector("input:checked"))?.value;
  return { node, value };
}

/** A job for the seats: a new attempt, with variants or without. */
export function assignSheet() {
  const s = sheet(say("wall-assign-title"), { away: say("seat-put-away") });
  const which = lessons("lesson", W.lessons);
  const variants = el("input", { type: "checkbox", checked: true });
  s.body.append(el("p", { class: "soft", text: forWhom() }), which.node, el("label", { class: "choice" }, variants, el("span", { text: say("wall-variants") })), el("p", { class: "soft small", text: say("wall-assign-says") }));
  s.buttons(
    button(
      say("wall-assign-do"),
      () => {
        const lesson = which.value();
        if (!lesson) return;
        order("assign", { to: to(), lesson, variants: variants.checked });
        s.close();
      },
      "main",
    ),
  );
}

/** Words to the seats. */
export function noteSheet() {
  const s = sheet(say("wall-note-title"), { away: say("seat-put-away") });
  const text = el("textarea", { id: "note-text", maxlength: 500 });
  s.body.append(el("p", { class: "soft", text: forWhom() }), el("label", { for: "note-text", text: say("wall-note-text") }), text);
  s.buttons(
    button(
      say("wall-note-send"),
      () => {
        if (text.value.trim() === "") return text.focus();
        order("note", { to: to(), text: text.value.trim() });
        s.close();
      },
      "main",
    ),
  );
  text.focus();
}

/** A fault that is slipped in. */
export function slipSheet() {
  const seats = meant();
  const s = sheet(say("wall-slip-title"), { away: say("seat-put-away"), wide: true });
  const list = lines(say("wall-slip-do"), (act, item) => {
    order("slip", { to: to(), act }, () => tell(say("wall-slipped", { fault: item.name, seats: seats.map((t) => t.word).join(", ") })));
    s.close();
  });
  const find = el("input", { id: "slip-find", type: "text", autocomplete: "off", spellcheck: "false" });
  const show = () => {
    const words = find.value.trim().toLowerCase();
    list.show(W.faults.filter((f) => f.name.toLowerCase().includes(words)));
  };
  find.addEventListener("input", show);
  const names = seats.map((t) => t.word).join(", ");
  const levels = [1, 2, 3].map((level) => {
    const any = button(
      say("wall-slip-any", { level }),
      () => {
        order("surprise", { to: to(), level }, () => tell(say("wall-slipped-any", { level, seats: names })));
        s.close();
      },
      "main",
    );
    const named = W.surprises.filter((f) => f.level === level).map((f) =>
      button(f.name, () => {
        order("surprise", { to: to(), level, fault: f.id }, () => tell(say("wall-slipped", { fault: f.name, seats: names })));
        s.close();
      }),
    );
    return el("div", { class: "row" }, any, ...named);
  });
  s.body.append(el("p", { class: "soft", text: forWhom() }), el("p", { class: "soft small", text: say("wall-slip-says") }), el("p", { class: "soft small", text: say("wall-slip-levels") }), ...levels, el("div", { class: "row" }, el("label", { for: "slip-find", text: say("wall-slip-find") }), find), list.node);
  show();
}

/** A question to the class: its predictions as bars, shown when all have answered or time is up. */
export function questionSheet() {
  const s = sheet(say("wall-question-title"), { away: say("seat-put-away") });
  const given = new Set(meant().map((t) => t.lesson));
  const asks = W.lessons.filter((l) => given.has(l.id)).flatMap((l) => l.asks ?? []);
  const all = [["cause", say("seat-ask-cause")], ...asks.filter((/** @type {[string, string]} */ [id]) => id !== "cause")];
  const seconds = el("input", { id: "bars-seconds", type: "number", min: 10, max: 1800, value: 60 });
  s.body.append(
    el("p", { class: "soft", text: say("wall-question-says") }),
    el(
      "div",
      { class: "rows" },
      ...all.map((/** @type {[string, string]} */ [id, text], /** @type {number} */ k) =>
        el("label", { class: "choice" }, el("input", { type: "radio", name: "ask", value: id, checked: k === 0 }), el("span", { text })),
      ),
    ),
    el("div", { class: "row" }, el("label", { for: "bars-seconds", text: say("wall-question-time") }), seconds, el("span", { class: "soft", text: say("wall-seconds") })),
  );
  s.buttons(
    button(
      say("wall-question-do"),
      () => {
        const on = /** @type {HTMLInputElement | null} */ (s.body.querySelector("input[name=ask]:checked"));
        const time = seconds.valueAsNumber;
        if (!on || !(time >= 10)) return seconds.focus();
        W.ended = "";
        ask({ kind: "bars", ask: on.value, seconds: time });
        s.close();
      },
      "main",
    ),
  );
}

/** An exam for all: lid locked, one attempt, a clock. */
export function examSheet() {
  const s = sheet(say("wall-exam-title"), { away: say("seat-put-away") });
  const which = lessons(
    "exam",
    W.lessons.filter((l) => l.marked),
  );
  const minutes = el("input", { id: "exam-minutes", type: "number", min: 1, max: 480, value: 40 });
  s.body.append(
    el("p", { text: say("wall-exam-says") }),
    which.node,
    el("div", { class: "row" }, el("label", { for: "exam-minutes", text: say("wall-exam-minutes") }), minutes, el("span", { class: "soft", text: say("seat-minutes-unit") })),
  );
  s.buttons(
    button(
      say("wall-exam-begin"),
      () => {
        const [lesson, time] = [which.value(), minutes.valueAsNumber];
        if (!lesson || !(time >= 1)) return minutes.focus();
        order("exam", { minutes: time, lesson });
        s.close();
      },
      "main",
    ),
    button(say("wall-exam-end"), () => {
      order("exam", { end: true });
      s.close();
    }),
  );
}

/** Everybody's marks: what the program gives, what the instructor gives instead and why; released or not. */
export function marksSheet() {
  const s = sheet(say("wall-marks-title"), { away: say("seat-put-away"), wide: true, closed: () => (W.listeners = W.listeners.filter((l) => l !== show)) });
  const body = el("tbody", null);
  const heads = ["wall-seat", "wall-marks-attempt", "wall-marks-program", "wall-marks-given", "wall-marks-released", "wall-marks-change"];
  s.body.append(
    el(
      "div",
      { class: "scroll-x", tabindex: "0", role: "group", "aria-label": say("wall-marks-title") },
      el(
        "table",
        { class: "marks" },
        el("caption", { class: "sight-less", text: say("wall-marks-title") }),
        el("thead", null, el("tr", null, ...heads.map((h) => el("th", { scope: "col", text: say(h) })))),
        body,
      ),
    ),
    el("p", { class: "soft small", text: say("wall-marks-says") }),
  );
  const show = () => {
    const all = meant().filter(hasMark);
    keyed(
      body,
      all,
      (t) => `${t.seat}`,
      (t) => el("tr", null, el("th", { scope: "row", text: t.word }), ...Array.from({ length: 4 }, () => el("td", { class: "figure" })), el("td", null, button(say("wall-marks-override"), () => overrideSheet(t.seat)))),
      (tr, t) => {
        setText(tr.children[1], String(t.attempt));
        setText(tr.children[2], markWords(t, t.mark.points));
        setText(tr.children[3], t.mark.override === null || t.mark.override === undefined ? "–" : number(t.mark.override, 1));
        setText(tr.children[4], say(t.mark.released ? "wall-yes" : "wall-no"));
      },
    );
    if (all.length === 0) fill(body, el("tr", null, el("td", { colspan: heads.length, text: say("wall-marks-none") })));
  };
  W.listeners.push(show);
  show();
  s.buttons(button(say("wall-marks-release"), () => order("release", { to: to() }), "main"));
}

/** Another mark, with its reason. @param {number} seat */
function overrideSheet(seat) {
  const t = W.tiles.get(seat);
  if (!t) return;
  const s = sheet(say("wall-override-title", { seat: t.word }), { away: say("seat-put-away") });
  const points = el("input", { id: "override-points", type: "number", min: 0, max: t.mark.of, step: 0.5, value: t.mark.override ?? t.mark.points });
  const reason = el("textarea", { id: "override-reason", maxlength: 300 });
  const wrong = el("p", { class: "accent", role: "alert" });
  s.body.append(
    el("div", { class: "row" }, el("label", { for: "override-points", text: say("wall-override-points") }), points, el("span", { class: "soft", text: say("wall-override-of", { of: number(t.mark.of, 0) }) })),
    el("label", { for: "override-reason", text: say("wall-override-reason") }),
    reason,
    wrong,
  );
  s.buttons(
    button(
      say("wall-override-do"),
      () => {
        const x = points.valueAsNumber;
        if (!(x >= 0 && x <= t.mark.of)) return points.focus();
        if (reason.value.trim() === "") {
          setText(wrong, say("wall-override-why"));
          return reason.focus();
        }
        order("override", { seat, attempt: t.attempt, points: x, reason: reason.value.trim() });
        s.close();
      },
      "main",
    ),
  );
}
