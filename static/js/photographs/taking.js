// Taking a series before the camera: guide and earlier picture over the live one, then keep or retake, view by view.

import { CameraError } from "../camera_stream.js";
import { StillCamera } from "./still_camera.js";
import { NOT_AGREED, isAgreed, newKeptUrl, sendPhotograph } from "./sending.js";

const page = document.querySelector("[data-taking]");
const part = (name) => page.querySelector(`[data-${name}]`);
const agreed = part("agreed");
const earlier = JSON.parse(document.getElementById("earlier-photographs").textContent);
const camera = new StillCamera(part("video"));

// The picture that was taken and is neither kept nor dropped: {blob, url, source, takenAt}.
let taken = null;
let chosen = null;

const say = (text) => {
  part("said").textContent = text;
};

const shotButtons = () => [...page.querySelectorAll("[data-shot]")];

function labelOf(key) {
  const button = shotButtons().find(({ dataset }) => dataset.shot === key);
  return button?.firstElementChild.textContent
    ?? part("shot-select").querySelector(`option[value="${CSS.escape(key)}"]`).textContent;
}

function choose(key) {
  chosen = key;
  for (const button of shotButtons()) {
    button.setAttribute("aria-pressed", String(button.dataset.shot === key));
  }
  part("shot-select").value = key;
  part("shot-title").textContent = labelOf(key);
  for (const guide of page.querySelectorAll("[data-guide-of]")) {
    guide.toggleAttribute("hidden", guide.dataset.guideOf !== key.split(":")[0]);
  }
  const before = earlier[key];
  part("ghost-tool").hidden = !before;
  part("ghost-day").textContent = before ? `Earlier picture of ${before.day}` : "";
  if (before) {
    part("ghost").src = before.url;
  } else {
    part("ghost").removeAttribute("src");
  }
  show();
}

// What can be done now follows from whether the camera is on and whether a picture waits.
function show() {
  part("start").hidden = camera.isOpen || taken !== null;
  part("shoot").hidden = !camera.isOpen || taken !== null;
  part("again").hidden = part("keep").hidden = taken === null;
  part("shown").hidden = taken === null;
  part("ghost").hidden = !camera.isOpen || taken !== null || !earlier[chosen];
  part("guide").toggleAttribute("hidden", taken !== null);
  part("stage").classList.toggle("is-live", camera.isOpen);
}

function hold(blob, source, takenAt) {
  drop();
  taken = { blob, source, takenAt, url: newKeptUrl(page.dataset.keepUrl), shown: URL.createObjectURL(blob) };
  part("shown").src = taken.shown;
  say("");
  show();
  part("keep").focus();
}

function drop() {
  if (taken) {
    URL.revokeObjectURL(taken.shown);
  }
  taken = null;
}

function nextShot() {
  const keys = shotButtons().map(({ dataset }) => dataset.shot);
  const open = keys.filter((key) => shotButtons().find(({ dataset }) => dataset.shot === key).dataset.kept !== "yes");
  const after = open.find((key) => keys.indexOf(key) > keys.indexOf(chosen));
  return after ?? open[0] ?? chosen;
}

async function keep() {
  if (!isAgreed(agreed)) {
    say(NOT_AGREED);
    return;
  }
  const button = part("keep");
  button.disabled = true;
  say("Being stored …");
  const fields = { image: taken.blob, shot: chosen, source: taken.source, session: page.dataset.session };
  if (taken.takenAt) {
    fields.taken_at = taken.takenAt;
  }
  const { stored, message } = await sendPhotograph(taken.url, agreed, fields);
  button.disabled = false;
  if (!stored) {
    say(message);
    return;
  }
  const label = labelOf(chosen);
  const shot = shotButtons().find(({ dataset }) => dataset.shot === chosen);
  if (shot) {
    shot.dataset.kept = "yes";
    shot.querySelector("[data-shot-state]").textContent = "Kept";
  }
  drop();
  choose(nextShot());
  say(`${label}: kept.`);
  (part("shoot").hidden ? part("start") : part("shoot")).focus();
}

part("start").addEventListener("click", async () => {
  try {
    await camera.open();
    say("");
    part("stage").closest(".panel").scrollIntoView();
  } catch (error) {
    if (!(error instanceof CameraError)) {
      throw error;
    }
    say(error.message);
  }
  show();
});

part("shoot").addEventListener("click", async () => {
  const blob = await camera.take();
  if (blob) {
    hold(blob, "camera", new Date().toISOString());
  } else {
    say("The camera shows no picture yet. Wait a moment, then take it.");
  }
});

part("file").addEventListener("change", ({ target }) => {
  const [file] = target.files;
  target.value = "";
  if (file) {
    // Its own date is the better one.
    hold(file, "camera", "");
  }
});

part("again").addEventListener("click", () => {
  drop();
  show();
});

part("keep").addEventListener("click", keep);

part("ghost-strength").addEventListener("input", ({ target }) => {
  part("ghost").style.opacity = target.value / 100;
});

part("shot-select").addEventListener("change", ({ target }) => {
  if (target.value) {
    choose(target.value);
  }
});

page.addEventListener("click", (event) => {
  const button = event.target.closest("[data-shot]");
  if (button) {
    choose(button.dataset.shot);
  }
});

// Enter in a field sends nothing by itself.
agreed.addEventListener("submit", (event) => event.preventDefault());

window.addEventListener("beforeunload", (event) => {
  if (taken) {
    event.preventDefault();
    event.returnValue = true;
  }
});
window.addEventListener("pagehide", () => camera.close());

choose(shotButtons()[0]?.dataset.shot ?? "front:rest");
