// Files from elsewhere: a row for each, with what it shows; they go to the clinic one after the other.

import { NOT_AGREED, isAgreed, newKeptUrl, sendPhotograph } from "./sending.js";

const MOST_BYTES = 25 * 1024 * 1024;
const page = document.querySelector("[data-uploading]");
const part = (name) => page.querySelector(`[data-${name}]`);
const agreed = part("agreed");

// row -> {file, url}, as long as it waits.
const waiting = new Map();

const say = (text) => {
  part("said").textContent = text;
};

function count() {
  part("none").hidden = part("list").children.length > 0;
  part("send").disabled = waiting.size === 0;
}

function sayInRow(row, text) {
  row.querySelector("[data-row-said]").textContent = text;
}

function add(file) {
  const row = part("row").content.firstElementChild.cloneNode(true);
  row.querySelector("[data-name]").textContent = file.name;
  const picture = row.querySelector("img");
  // Of a kind that the browser cannot show, such as HEIC, the name alone.
  picture.addEventListener("error", () => picture.remove());
  picture.addEventListener("load", () => URL.revokeObjectURL(picture.src));
  picture.src = URL.createObjectURL(file);
  part("list").append(row);
  if (file.size > MOST_BYTES) {
    sayInRow(row, "Larger than 25 MB: choose a smaller one.");
    row.querySelector("[data-shot-select]").disabled = true;
  } else {
    waiting.set(row, { file, url: newKeptUrl(page.dataset.keepUrl) });
  }
}

function leaveOut(row) {
  waiting.delete(row);
  row.remove();
  count();
}

// Whether the row is done with.
async function send(row) {
  const { file, url } = waiting.get(row);
  const select = row.querySelector("[data-shot-select]");
  sayInRow(row, "Being stored …");
  const fields = { image: file, shot: select.value, source: "upload" };
  const { stored, message, again } = await sendPhotograph(url, agreed, fields);
  sayInRow(row, stored ? "Kept." : message);
  row.classList.toggle("upload--kept", stored !== null);
  row.classList.toggle("upload--refused", stored === null);
  if (stored || !again) {
    select.disabled = true;
    waiting.delete(row);
  }
  return stored !== null;
}

async function sendAll() {
  if (!isAgreed(agreed)) {
    say(NOT_AGREED);
    return;
  }
  const rows = [...waiting.keys()];
  const open = rows.map((row) => row.querySelector("[data-shot-select]")).find(({ value }) => !value);
  if (open) {
    say("Choose for each file what it shows.");
    open.focus();
    return;
  }
  part("send").disabled = true;
  let kept = 0;
  for (const row of rows) {
    say(`Storing ${rows.indexOf(row) + 1} of ${rows.length} …`);
    kept += await send(row) ? 1 : 0;
  }
  say(kept === rows.length ? `All ${kept} kept.` : `${kept} of ${rows.length} kept. Each of the others says why.`);
  count();
}

part("files").addEventListener("change", ({ target }) => {
  [...target.files].forEach(add);
  target.value = "";
  say("");
  count();
});

part("send").addEventListener("click", sendAll);

part("list").addEventListener("click", (event) => {
  const button = event.target.closest("[data-leave-out]");
  if (button) {
    leaveOut(button.closest("li"));
  }
});

agreed.addEventListener("submit", (event) => event.preventDefault());

window.addEventListener("beforeunload", (event) => {
  if (waiting.size > 0) {
    event.preventDefault();
    event.returnValue = true;
  }
});
