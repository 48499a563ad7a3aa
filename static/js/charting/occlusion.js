// The occlusion log of the session in sight. One touch opens it; every touch after it adds a line, shown at once and
// kept on the tablet like a point. It opens again by itself after a reload, as long as it runs.

import { drawOnChange, on, patch } from "./dom.js";
import { newKey } from "./ids.js";
import { askAmount } from "./keypad.js";
import { emergencyParts } from "./occlusion_emergency.js";
import { AT_ONCE, chosen, lineData, missing } from "./occlusion_forms.js";
import { clockText, clocksOf, isRunning, runningLog, tellsOfEmergency } from "./occlusion_log.js";
import { PLAIN, formParts, logParts } from "./occlusion_parts.js";
import { PictureError, readPicture } from "./picture_file.js";
import { sheetNamed } from "./sheet.js";

const TICK_MS = 1000;
const USUAL_MINUTES = 60;
const AMOUNTS = {
  dose_centiunits: { title: "Units given", measure: "dose" },
  diluent_ul: { title: "Diluent", measure: "volume" },
};

class Log {
  constructor(screen, sheet) {
    // `shown` logs came up by themselves already; `view` is "log", "emergency" or a form {what, draft, trouble}.
    Object.assign(this, { screen, sheet, key: null, view: "log", shown: new Set() });
  }

  get log() {
    return (this.screen.state?.occlusions ?? []).find(({ key }) => key === this.key) ?? null;
  }

  get reference() {
    return this.screen.app.reference.occlusion;
  }

  open() {
    const running = runningLog(this.screen.state);
    this.key = running?.key ?? this.begin();
    this.show(running && this.isUncalled(running) ? "emergency" : "log");
  }

  begin() {
    const { screen } = this;
    const key = newKey();
    screen.act("occlude", { key, protocol: screen.app.day?.protocol?.version ?? null });
    screen.sayStored("Occlusion log opened.", ({ occlusions }) => occlusions.find((log) => log.key === key)?.where);
    return key;
  }

  // An emergency for which nobody was called yet.
  isUncalled({ entries }) {
    const at = entries.findLastIndex(({ what }) => what === "emergency");
    return at >= 0 && !entries.slice(at).some(({ what }) => what === "call");
  }

  show(view) {
    this.view = view;
    this.shown.add(this.key);
    this.draw();
    if (!this.sheet.open) {
      this.sheet.showModal();
    }
    // What was pressed is gone with what it stood on.
    if (!this.sheet.contains(document.activeElement)) {
      this.sheet.focus();
    }
  }

  // After a change of what is known: of a log that ended elsewhere nothing is asked any more.
  update() {
    const running = runningLog(this.screen.state);
    if (running && !this.shown.has(running.key) && this.screen.app.reference) {
      this.open();
    } else if (this.sheet.open && this.log) {
      isRunning(this.log) ? this.draw() : this.sheet.close();
    }
  }

  draw() {
    const { screen, log, view, sheet } = this;
    if (!log) {
      return;
    }
    patch(sheet, view === "log" ? logParts(screen, log) : view === "emergency" ? emergencyParts(screen, log) : formParts(screen, log, view));
    this.tick();
  }

  tick() {
    const { log, sheet, screen } = this;
    if (!log || !sheet.open || screen.app.locked) {
      return;
    }
    const clocks = clocksOf(log, Date.now(), screen.app.day?.protocol?.minutes ?? USUAL_MINUTES);
    const alarm = log.entries.find(({ what }) => what === "emergency");
    const texts = {
      first: clockText(clocks.first),
      dose: clocks.dose === null ? "none yet" : clockText(clocks.dose),
      due: clocks.due > 0 ? clockText(clocks.due) : "now",
      emergency: alarm ? clockText(Math.max(0, Date.now() - Date.parse(alarm.at))) : "",
    };
    for (const clock of sheet.querySelectorAll("[data-clock]")) {
      clock.textContent = texts[clock.dataset.clock];
      clock.classList.toggle("is-due", clock.dataset.clock === "due" && clocks.due <= 0);
    }
  }

  note(data) {
    const { screen } = this;
    const key = newKey();
    screen.act("occlusion_note", { key, occlusion: this.key, ...data });
    const [, word] = this.reference.entries.find(([what]) => what === data.what);
    const where = ({ occlusions }) => occlusions.flatMap(({ entries }) => entries).find((line) => line.key === key)?.where;
    screen.sayStored(`${word}: noted.`, where);
  }

  ask(what) {
    if (PLAIN.has(what)) {
      this.note({ what });
      return;
    }
    this.show({ what, draft: {}, trouble: "" });
  }

  change(draft, trouble = "") {
    Object.assign(this.view, { draft, trouble });
    this.draw();
  }

  done() {
    const { what, draft } = this.view;
    const trouble = missing(what, draft);
    if (trouble) {
      this.change(draft, trouble);
      this.screen.say(trouble);
      return;
    }
    this.note(lineData(what, draft));
    if (what === "ended") {
      this.screen.say("The occlusion log is ended.");
      this.sheet.close();
      return;
    }
    const said = `${draft.text ?? ""} ${draft.whom ?? ""}`;
    tellsOfEmergency(said, this.reference.emergency_words) ? this.alarm() : this.show("log");
  }

  // Vision or nerve signs: written down at the first touch, then whom to call over the whole screen.
  alarm() {
    if (!this.log.entries.some(({ what }) => what === "emergency")) {
      this.note({ what: "emergency" });
    }
    this.show("emergency");
  }

  time(name) {
    const { draft } = this.view;
    if (draft.timing !== name) {
      this.began = performance.now();
      this.change({ ...draft, timing: name });
    } else {
      const tenths = Math.min(300, Math.max(1, Math.round((performance.now() - this.began) / 100)));
      this.change({ ...draft, timing: undefined, [name]: tenths });
    }
  }

  askFor(name) {
    const { title, measure } = AMOUNTS[name];
    askAmount({ title, measure, amount: this.view.draft[name] ?? null, act: (amount) => this.change({ ...this.view.draft, [name]: amount }) });
  }

  async photograph(file) {
    const { screen } = this;
    try {
      const { blob, width, height } = await readPicture(file);
      const picture = screen.app.keepPicture(screen.sessionKey, blob, { width, height });
      this.note({ what: "photo", picture });
      this.show("log");
    } catch (error) {
      if (!(error instanceof PictureError)) {
        throw error;
      }
      this.change(this.view.draft, error.message);
    }
  }
}

function listen(log, sheet) {
  on(sheet, "click", "data-occlusion-ask", ({ dataset }) => log.ask(dataset.occlusionAsk));
  on(sheet, "click", "data-occlusion-view", ({ dataset }) => log.show(dataset.occlusionView));
  on(sheet, "click", "data-occlusion-emergency", () => log.alarm());
  on(sheet, "click", "data-occlusion-done", () => log.done());
  on(sheet, "click", "data-occlusion-time", ({ dataset }) => log.time(dataset.occlusionTime));
  on(sheet, "click", "data-occlusion-amount", ({ dataset }) => log.askFor(dataset.occlusionAmount));
  on(sheet, "click", "data-occlusion-called", ({ dataset }) => log.note({ what: "call", whom: dataset.occlusionCalled }));
  on(sheet, "click", "data-occlusion-sign", ({ dataset }) => log.note({ what: "emergency", signs: dataset.occlusionSign }));
  on(sheet, "click", "data-occlusion-step", ({ dataset }) => {
    const { title } = log.screen.app.day.protocol.steps[Number(dataset.occlusionStep)];
    log.note({ what: "step", text: title });
  });
  on(sheet, "click", "data-occlusion-set", ({ dataset }) => {
    log.change(chosen(log.view.draft, dataset));
    if (AT_ONCE.has(log.view.what)) {
      log.done();
    }
  });
  on(sheet, "click", "data-occlusion-discard", () => {
    log.note({ what: "discarded" });
    sheet.close();
  });
  // Escape leaves a form for the log before it leaves the log.
  sheet.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && log.view !== "log") {
      event.preventDefault();
      log.show("log");
    }
  });
  sheet.addEventListener("input", ({ target }) => {
    const name = target.dataset.occlusionTyped;
    if (name) {
      log.view.draft[name] = target.value;
    }
  });
  sheet.addEventListener("change", ({ target }) => {
    if (target.matches("[data-occlusion-photo]") && target.files[0]) {
      log.photograph(target.files[0]);
    }
  });
}

export function attachOcclusion(screen, strip) {
  const sheet = sheetNamed("occlusion");
  const log = new Log(screen, sheet);
  listen(log, sheet);
  on(strip, "click", "data-occlusion", () => log.open());
  drawOnChange(screen, () => log.update());
  setInterval(() => log.tick(), TICK_MS);
}
