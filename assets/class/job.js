// The job card: what the customer says, cautions first, what was spent; questions, the cause, handing over.

import { button, el, fill, put, setText, sheet } from "./dom.js";
import { clock, inUnits, metric, number, quantity, say, shownUnit } from "./words.js";

/** @param {string[]} all */
export function cautionList(all) {
  return el("ul", { class: "cautions" }, ...all.map((text) => el("li", null, el("span", { text }))));
}

/**
 * The cautions of this job and those that hold in every case, before anything is touched.
 * @param {{ own: string[], always: string[], runs: boolean }} cautions `runs`: the car came in with its engine running
 * @param {boolean} kept they were read @param {() => void} read
 */
export function cautionsSheet({ own, always, runs }, kept, read) {
  const s = sheet(say("seat-cautions-title"), { away: kept ? say("seat-put-away") : null });
  // it may be longer than the screen: keys scroll it too
  s.body.tabIndex = 0;
  const first = runs ? [say("seat-cautions-running"), ...own] : own;
  if (first.length) s.body.append(cautionList(first));
  if (always.length) s.body.append(el("h3", { text: say("seat-cautions-always") }), cautionList(always));
  if (kept) s.body.append(el("p", { class: "soft", text: say("seat-cautions-were-read") }));
  else {
    s.buttons(
      button(
        say("seat-cautions-read"),
        () => {
          read();
          s.close();
        },
        "main",
      ),
    );
  }
  return s;
}

/**
 * One question with its answer; the answer is given once *Say it* is pressed.
 * @param {any} asked @param {(says: any) => void} said @param {any} [before] what was said before
 */
export function question(asked, said, before) {
  const title = asked.id === "cause" ? say("seat-ask-cause") : asked.question;
  const wrong = el("p", { class: "accent small", role: "alert" });
  const name = `ask-${asked.id}`;
  const words = (/** @type {[string, string]} */ [id, text]) =>
    ({ up: say("seat-ask-up"), down: say("seat-ask-down"), same: say("seat-ask-same") })[/** @type {"up"} */ (id)] ?? text;
  /** @type {() => any} */
  let value;
  /** @type {HTMLElement} */
  let control;
  if (asked.choices?.length) {
    const radios = asked.choices.map((/** @type {[string, string]} */ c) =>
      el("label", { class: "choice" }, el("input", { type: "radio", name, value: c[0], checked: c[0] === before }), el("span", { text: words(c) })),
    );
    control = el("div", { class: "rows" }, ...radios);
    value = () => {
      const on = /** @type {HTMLInputElement | null} */ (control.querySelector("input:checked"));
      return on ? on.value : undefined;
    };
  } else {
    const input = el("input", { type: "text", inputmode: "decimal", "aria-label": asked.unit ? say("seat-ask-number-in", { unit: shownUnit(asked.unit) }) : say("seat-ask-number"), autocomplete: "off" });
    control = el("div", { class: "row" }, input, el("span", { class: "soft", text: shownUnit(asked.unit ?? "") }));
    value = () => {
      const x = Number.parseFloat(input.value.trim().replace(",", ".").replace("\u2212", "-"));
      // the logbook holds the author's unit
      return Number.isFinite(x) ? metric(x, asked.unit ?? "") : undefined;
    };
  }
  const press = () => {
    const v = value();
    if (v === undefined) {
      setText(wrong, say(asked.choices?.length ? "seat-ask-choose" : "seat-ask-number"));
      return;
    }
    setText(wrong, "");
    said(v);
  };
  control.addEventListener("keydown", (e) => {
    if (/** @type {KeyboardEvent} */ (e).key === "Enter") {
      e.preventDefault();
      press();
    }
  });
  return el("fieldset", { class: "rows asked", "data-ask": asked.id }, el("legend", { class: "strong", text: title }), control, wrong, el("div", { class: "row" }, button(say("seat-ask-say-it"), press, "main")));
}

/**
 * Questions that hold an act back: they stand in front until they are answered or passed over.
 * @param {{ answer: (id: string, says: any) => void, pass: () => void, not: () => void }} does
 */
export function heldQuestions(does) {
  /** @type {ReturnType<typeof sheet> | null} */
  let now = null;
  let shown = "";
  /** @param {any[]} questions @param {string} waits the act that waits, in words */
  const show = (questions, waits) => {
    const ids = JSON.stringify(questions.map((q) => q.id));
    if (ids === shown) return;
    shown = ids;
    const before = now;
    now = null;
    before?.close();
    if (questions.length === 0) return;
    const s = sheet(say("seat-ask-before"), {
      // a browser may close a sheet by itself; what holds an act back stands there again
      closed: () => {
        if (now !== s) return;
        [now, shown] = [null, ""];
        setTimeout(() => show(questions, waits));
      },
    });
    now = s;
    s.node.classList.add("held");
    if (waits) s.body.append(el("p", { class: "soft", text: say("seat-ask-waits", { act: waits }) }));
    for (const q of questions) s.body.append(question(q, (says) => does.answer(q.id, says)));
    s.buttons(button(say("seat-ask-pass"), does.pass), button(say("seat-ask-not"), does.not));
  };
  return show;
}

/**
 * The top of the page.
 * @param {{ cautions: () => void, cause: () => void, open: () => void, handIn: () => void, logbook: () => void, keys: () => void,
 *   lid: () => void, debrief: () => void }} does
 */
export function jobCard(does) {
  const title = el("h1", { id: "job-title" });
  const fold = el("button", { type: "button", class: "job-fold", "aria-expanded": "true", "aria-controls": "job-more", text: say("seat-job-card") });
  const complaint = el("p", { class: "complaint" });
  const who = el("p", { class: "soft small who" });
  const named = el("p", { class: "small named" });
  const minutes = el("output", { class: "big" });
  const money = el("output", { class: "big" });
  const lamp = el("p", { class: "lamp", role: "status" });
  const others = el("p", { class: "lamp", role: "status" });
  const left = el("p", { class: "left figure strong", role: "timer" });
  const cautions = button(say("seat-job-cautions"), does.cautions, "mind");
  const name = button(say("seat-job-cause"), does.cause);
  put(name, { "aria-keyshortcuts": "Y" });
  const open = button("", does.open, "mind");
  const handIn = button(say("seat-job-hand-in"), does.handIn);
  const debrief = button(say("seat-job-debrief"), does.debrief, "main");
  const logbook = button(say("seat-job-logbook"), does.logbook);
  const lid = button("", does.lid);
  put(lid, { "aria-keyshortcuts": "V" });
  const keys = button(say("seat-job-keys"), does.keys, "plain");
  const buttons = el("div", { class: "row job-buttons", id: "job-more" }, cautions, name, open, handIn, debrief, logbook, lid, keys);
  const node = el(
    "header",
    { id: "job", "aria-labelledby": "job-title" },
    el("div", { class: "job-words" }, title, complaint, who, named),
    el(
      "div",
      { class: "job-figures" },
      left,
      el("div", { class: "spent" }, minutes, el("span", { class: "soft small", text: say("seat-job-minutes") })),
      el("div", { class: "spent" }, money, el("span", { class: "soft small", text: say("seat-job-money") })),
      lamp,
      others,
      fold,
    ),
    buttons,
  );
  // on a phone the card folds up, so that the car has the page
  const folded = (/** @type {boolean} */ up) => {
    put(fold, { "aria-expanded": !up });
    node.classList.toggle("folded", up);
  };
  fold.addEventListener("click", () => folded(!node.classList.contains("folded")));
  const narrow = matchMedia("(max-width: 767px)");
  folded(narrow.matches);
  narrow.addEventListener("change", () => folded(narrow.matches));
  // what was pressed there is done at the car
  buttons.addEventListener("click", (e) => {
    if (narrow.matches && /** @type {Element} */ (e.target).closest("button")) folded(true);
  });
  /** @param {any} s the seat's state */
  const show = (s) => {
    const lesson = s.lesson;
    const view = s.view;
    setText(title, lesson ? lesson.title : say("seat-waiting-title"));
    setText(complaint, lesson ? say("seat-job-complaint", { complaint: lesson.complaint.trim() }) : "");
    const car = lesson ? [lesson.car.title, lesson.car.odometer_km ? quantity(lesson.car.odometer_km, "km", 0) : ""].filter(Boolean).join(", ") : "";
    const attempt = s.attempt?.number > 1 ? say("seat-job-attempt", { n: s.attempt.number }) : "";
    setText(who, [car, s.seat ? say("seat-job-seat", { seat: s.seat.word }) : "", attempt, s.attempt?.exam ? say("seat-job-exam") : ""].filter(Boolean).join(" · "));
    const job = view?.job;
    setText(minutes, job ? number(job.minutes, 1) : "–");
    setText(money, job ? number(job.money, 1) : "–");
    const cause = s.causes.find((/** @type {[string, string]} */ c) => c[0] === s.causeNamed)?.[1];
    setText(named, cause ? say("seat-job-cause-named", { cause }) : "");
    const state = view?.first?.seen?.dash_lamp ?? "off";
    setText(lamp, say({ off: "seat-lamp-off", bulb_check: "seat-lamp-bulb-check", on: "seat-lamp-on", blink: "seat-lamp-blink" }[/** @type {"off"} */ (state)]));
    put(lamp, { class: `lamp ${state}` });
    lamp.hidden = !view;
    const seen = view?.first?.seen;
    const lit = [seen?.charge_lamp ? "seat-lamp-charge" : "", seen?.hot_lamp ? "seat-lamp-hot" : ""].filter(Boolean);
    others.hidden = !lit.length;
    if (lit.length) {
      setText(others, lit.map((id) => say(id)).join(" · "));
      // the charging lamp is lit with the key on and the engine standing on every car
      put(others, { class: `lamp ${seen.live.running || seen.hot_lamp ? "on" : "bulb_check"}` });
    }
    const working = s.attempt?.state === "under_way" && view;
    const clockLeft = s.attempt?.clock_left_s;
    left.hidden = clockLeft === null || clockLeft === undefined;
    if (!left.hidden) setText(left, say("seat-job-left", { time: clock(s.clockLeft()) }));
    cautions.hidden = !lesson?.cautions?.length && !lesson?.always?.length;
    put(cautions, { class: s.cautionsKept ? "" : "mind" });
    name.hidden = !working || !s.causes.length;
    setText(name, say(s.causeNamed ? "seat-job-cause-again" : "seat-job-cause"));
    open.hidden = !working || !view.open?.length;
    if (!open.hidden) setText(open, say("seat-job-open", { n: view.open.length }));
    handIn.hidden = !working;
    debrief.hidden = !s.released;
    logbook.hidden = !view;
    lid.hidden = !working || !(s.allowed?.lid || view.lid_open);
    setText(lid, say(view?.lid_open ? "seat-lid-on" : "seat-lid-off"));
  };
  return { node, show };
}

/**
 * Hand the car over?
 * @param {any} s the seat's state @param {() => void} yes @param {() => void} cause
 */
export function handInSheet(s, yes, cause) {
  const job = s.view.job;
  const box = sheet(say("seat-hand-in-title"), { away: say("seat-hand-in-no") });
  box.body.append(el("p", { text: say("seat-hand-in-says", { minutes: number(job.minutes, 1), money: number(job.money, 1), currency: job.currency ?? "" }) }));
  const lines = s.all.job?.lines ?? [];
  if (lines.length) {
    box.body.append(el("details", null, el("summary", { text: say("seat-hand-in-lines") }), el("ul", { class: "job-lines" }, ...lines.map((/** @type {string} */ text) => el("li", { text })))));
  }
  if (s.causes.length && !s.causeNamed) {
    box.body.append(
      el("p", { class: "accent strong", text: say("seat-hand-in-no-cause") }),
      button(say("seat-job-cause"), () => {
        box.close();
        cause();
      }),
    );
  }
  box.buttons(
    button(
      say("seat-hand-in-yes"),
      () => {
        yes();
        box.close();
      },
      "main",
    ),
  );
}

/** The logbook, the latest first. @param {{ at: string, who: string, text: string }[]} log */
export function logbookSheet(log) {
  const s = sheet(say("seat-job-logbook"), { away: say("seat-put-away"), wide: true });
  s.body.tabIndex = 0;
  if (log.length === 0) s.body.append(el("p", { class: "soft", text: say("seat-log-empty") }));
  s.body.append(
    el(
      "ol",
      { class: "log" },
      ...[...log].reverse().map((l) => el("li", { class: l.who }, el("span", { class: "figure soft", text: l.at }), el("span", { text: l.text }))),
    ),
  );
}

/**
 * What is wrong? May be said whenever one likes.
 * @param {[string, string][]} causes @param {string | null} before @param {(id: string) => void} said
 */
export function causeSheet(causes, before, said) {
  const s = sheet(say("seat-ask-cause"), { away: say("seat-put-away") });
  s.body.append(
    el("p", { class: "soft", text: say("seat-ask-cause-counts") }),
    question(
      { id: "cause", choices: causes },
      (id) => {
        said(id);
        s.close();
      },
      before,
    ),
  );
}

/**
 * Questions that stand open; an answer may still be given.
 * @param {any[]} open @param {(id: string, says: any) => void} answer
 */
export function openSheet(open, answer) {
  const s = sheet(say("seat-ask-expect"), { away: say("seat-put-away") });
  for (const q of open) {
    const box = question(q, (says) => {
      answer(q.id, says);
      box.remove();
      if (!s.body.querySelector("fieldset")) s.close();
    });
    s.body.append(box);
  }
}

/** What stands while there is nothing to work on. @param {any} s @returns {HTMLElement} */
export function waiting(s) {
  const state = s.attempt?.state ?? "none";
  if (state === "preparing") {
    return el(
      "div",
      { class: "waiting rows" },
      el("h2", { text: say("seat-preparing") }),
      el("progress", { max: 1, value: s.share ?? 0, "aria-label": say("seat-preparing") }),
      el("p", { class: "soft", text: say("seat-preparing-why") }),
    );
  }
  if (state === "handed_in") {
    return el(
      "div",
      { class: "waiting rows" },
      el("h2", { text: say("seat-handed-in") }),
      s.released
        ? el("p", null, el("a", { class: "press main", href: inUnits("debrief"), target: "_blank", rel: "noopener", text: say("seat-debrief-open") }))
        : el("p", { class: "soft", text: say("seat-handed-in-wait") }),
    );
  }
  return el("div", { class: "waiting rows" }, el("h2", { text: say("seat-waiting") }), el("p", { class: "soft", text: say("seat-waiting-says") }));
}

/** @param {HTMLElement} where @param {any} s */
export function showWaiting(where, s) {
  const key = JSON.stringify([s.attempt?.state, s.released]);
  if (where.dataset.shown === key) {
    const bar = where.querySelector("progress");
    if (bar) bar.value = s.share ?? 0;
    return;
  }
  where.dataset.shown = key;
  fill(where, waiting(s));
}
