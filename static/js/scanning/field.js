// The field for codes (templates/scanning/_field.html): scanner, camera or keyboard.
//
// Whatever was read goes into the field, is said in its live region, and is told to the page by a bubbling event
// "scanned" with {text, symbology, scan}; `scan` is readScan's answer. A form marked data-scan-submits is then sent,
// unless a listener prevented that; any other form is not, though the scanner ends each code with Enter.

import { CameraError } from "../camera_stream.js";
import { LONGEST, readScan } from "./elements.js";
import { fromIso, written } from "./dates.js";
import { followWedge, shown } from "./wedge.js";

const SEVERAL = "More than one code is in the picture: cover the others with a finger.";
const NO_READER = "Codes cannot be read from pictures here: use a scanner, or type what is printed under the code.";
const LOOKING = "Looking for a code. Hold it steady, about a hand's breadth away.";

const fieldOf = (node) => node.closest("[data-scan]");
const part = (field, name) => field.querySelector(`[data-scan-${name}]`);

// Today by the clinic's clock, or by this device's where the page does not say.
function todayOf({ dataset: { scanToday } }) {
  const now = new Date();
  const two = (number) => String(number).padStart(2, "0");
  return scanToday ?? `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

function summary(scan) {
  if (scan.needsServer) {
    return "A code was read; the clinic's server says what it holds.";
  }
  if (scan.error) {
    return scan.error;
  }
  const facts = [
    ["product", scan.gtin],
    ["lot", scan.lot],
    ["expiry", scan.expiry && written(fromIso(scan.expiry))],
    ["serial", scan.serial],
  ];
  const read = facts.filter(([, value]) => value).map(([name, value]) => `${name} ${value}`);
  return [`Read: ${read.join(", ")}.`, ...scan.warnings].join(" ");
}

function take(field, text, symbology = "") {
  const input = part(field, "input");
  // A longer one is refused anyway, and would not fit an address.
  input.value = shown(text).slice(0, LONGEST + 1);
  const scan = readScan(text, todayOf(field));
  const { form } = input;
  const isSent = form?.matches("[data-scan-submits]");
  // The form's page knows what else may stand there, such as the label of a unit.
  part(field, "said").textContent = isSent && scan.error ? "" : summary(scan);
  const event = new CustomEvent("scanned", { bubbles: true, cancelable: true, detail: { text, symbology, scan } });
  if (input.dispatchEvent(event) && isSent) {
    // As Enter would: by the first button, which may spare the fields further down.
    form.requestSubmit(form.querySelector("[type=submit]"));
  }
}

// The camera goes off with its dialog, and both when the tablet shows something else.
function closeTogether(dialog, camera) {
  const putAway = () => document.hidden && dialog.close();
  const putOff = () => {
    camera.close();
    document.removeEventListener("visibilitychange", putAway);
  };
  document.addEventListener("visibilitychange", putAway);
  dialog.addEventListener("close", putOff, { once: true });
}

async function useCamera(field) {
  const [dialog, view, hint] = [part(field, "dialog"), part(field, "view"), part(field, "hint")];
  hint.textContent = "The camera is starting.";
  view.hidden = false;
  dialog.showModal();
  let camera = null;
  try {
    // Loaded at the first press: most codes come from a scanner, and the reader is large.
    const [{ Camera }, { startReader }] = await Promise.all([import("./camera.js"), import("./reader.js")]);
    if (!dialog.open) {
      return;
    }
    camera = new Camera(part(field, "video"));
    closeTogether(dialog, camera);
    await Promise.all([camera.open(), startReader(field.dataset.scanModule)]);
    hint.textContent = LOOKING;
    const code = await camera.read(() => {
      hint.textContent = SEVERAL;
    });
    if (code) {
      dialog.close();
      take(field, code.text, code.symbology);
    }
  } catch (error) {
    camera?.close();
    view.hidden = true;
    hint.textContent = error instanceof CameraError ? error.message : NO_READER;
  }
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-scan-camera]");
  if (button) {
    useCamera(fieldOf(button));
  }
});
followWedge(document, (input) => take(fieldOf(input), input.value));
