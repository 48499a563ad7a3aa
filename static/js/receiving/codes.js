// Codes of a delivery, form[data-delivery]. A scanner can be faster than the line to the server, so each code is put
// into the form as a hidden field at once and the field for codes is free for the next; what waits is sent with the
// next request, and stays in the form until the server has answered. [data-code-again] puts a refused code back into
// the field.

const form = document.querySelector("form[data-delivery]");
const input = form?.querySelector("[data-scan-input]");
const status = form?.querySelector("[data-codes-waiting]");
let isSending = false;
let isOwnSubmit = false;
let focused = "";

const codes = (state) => [...form.querySelectorAll(state ? `input[data-code="${state}"]` : "input[data-code]")];

function hold() {
  if (input.value.trim()) {
    const code = Object.assign(document.createElement("input"), { type: "hidden", name: "scan", value: input.value });
    code.dataset.code = "waits";
    form.append(code);
    input.value = "";
  }
}

function sendWaiting() {
  if (!isSending && codes().length) {
    isOwnSubmit = true;
    form.requestSubmit();
    isOwnSubmit = false;
  }
}

function onScanned(event) {
  event.preventDefault();
  hold();
  sendWaiting();
}

function onSubmit() {
  // A person pressed a button: what stands in the field goes along. A scanner may be in the middle of the next code
  // when this module sends the ones before.
  if (!isOwnSubmit) {
    hold();
  }
}

function onConfig(event) {
  const data = event.detail.formData;
  data.delete("scan");
  for (const code of codes()) {
    data.append("scan", code.value);
    code.dataset.code = "sent";
  }
  isSending = true;
  focused = document.activeElement?.id ?? "";
}

function onSignedOut(event) {
  // Sent once more as a whole page, whose answer keeps all that was typed until somebody has signed in again.
  if (event.detail.xhr.status === 401) {
    event.preventDefault();
  }
}

function onAnswer(event) {
  isSending = false;
  if (event.detail.xhr?.status === 401) {
    form.submit();
    return;
  }
  const sent = codes("sent");
  if (event.detail.successful) {
    sent.forEach((code) => code.remove());
    status.textContent = "";
  } else if (sent.length) {
    const many = sent.length === 1 ? "1 code was" : `${sent.length} codes were`;
    status.textContent = `${many} not sent yet: scan on, or press Enter here, and it is tried again.`;
  }
}

function onSettled() {
  const wrong = form.querySelector(".line--wrong [aria-invalid='true']") ?? form.querySelector(".line--wrong select");
  // The lines could not be typed into while they were sent, which takes the focus away.
  const before = document.activeElement === document.body && focused ? document.getElementById(focused) : null;
  (wrong ?? before)?.focus();
  if (codes("waits").length) {
    sendWaiting();
  }
}

function putBack(event) {
  const button = event.target.closest("[data-code-again]");
  if (button) {
    input.value = button.dataset.codeAgain;
    input.focus();
    input.select();
  }
}

if (form) {
  form.addEventListener("scanned", onScanned);
  form.addEventListener("submit", onSubmit, true);
  form.addEventListener("click", putBack);
  form.addEventListener("htmx:configRequest", onConfig);
  form.addEventListener("htmx:beforeOnLoad", onSignedOut);
  form.addEventListener("htmx:afterRequest", onAnswer);
  form.addEventListener("htmx:afterSettle", onSettled);
}
