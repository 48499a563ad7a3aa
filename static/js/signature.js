// A signature drawn with pen, finger or mouse. [data-signature] holds the pad [data-signature-pad], whose own units count,
// the hidden input that is sent, [data-signature-clear] and [data-signature-state], which is read aloud.
//
// The input holds strokes as JSON, [[[x, y], ...], ...] in whole numbers. What came back with errors is drawn again.

const SVG = "http://www.w3.org/2000/svg";
const NEAR = 2;
const MOST_POINTS = 6000;
let under = null; // { holder, pointer, stroke, line } while a pen is down

const input = (holder) => holder.querySelector("input[type='hidden']");
const pad = (holder) => holder.querySelector("[data-signature-pad]");

function strokesOf(holder) {
  try {
    return JSON.parse(input(holder).value || "[]");
  } catch {
    return [];
  }
}

function pathOf([first, ...rest]) {
  return `M${first.join(" ")}${rest.map((point) => `L${point.join(" ")}`).join("") || "h0"}`;
}

function draw(holder, stroke) {
  const line = document.createElementNS(SVG, "path");
  const looks = { fill: "none", stroke: "currentColor", "stroke-width": 3, "stroke-linecap": "round", "stroke-linejoin": "round" };
  for (const [name, value] of Object.entries({ ...looks, d: pathOf(stroke) })) {
    line.setAttribute(name, value);
  }
  pad(holder).append(line);
  return line;
}

// Where the pointer is, in the pad's units and inside it.
function placeOf(event, holder) {
  const { left, top, width, height } = pad(holder).getBoundingClientRect();
  const box = pad(holder).viewBox.baseVal;
  const within = (share, most) => Math.round(Math.min(Math.max(share, 0), 1) * most);
  return [within((event.clientX - left) / width, box.width), within((event.clientY - top) / height, box.height)];
}

function keep(holder, strokes) {
  input(holder).value = strokes.length ? JSON.stringify(strokes) : "";
  holder.querySelector("[data-signature-state]").textContent = strokes.length ? "Something is drawn." : "The pad is empty.";
}

document.addEventListener("pointerdown", (event) => {
  const holder = event.target.closest?.("[data-signature-pad]")?.closest("[data-signature]");
  // A second touch is the heel of the hand.
  if (!holder || under || event.button !== 0) {
    return;
  }
  event.preventDefault();
  pad(holder).setPointerCapture(event.pointerId);
  const stroke = [placeOf(event, holder)];
  under = { holder, pointer: event.pointerId, stroke, line: draw(holder, stroke) };
});

document.addEventListener("pointermove", (event) => {
  if (under?.pointer !== event.pointerId) {
    return;
  }
  const { holder, stroke, line } = under;
  const moves = event.getCoalescedEvents();
  for (const move of moves.length ? moves : [event]) {
    const [x, y] = placeOf(move, holder);
    const [lastX, lastY] = stroke.at(-1);
    if (Math.hypot(x - lastX, y - lastY) >= NEAR) {
      stroke.push([x, y]);
    }
  }
  line.setAttribute("d", pathOf(stroke));
});

function lift(event) {
  if (under?.pointer !== event.pointerId) {
    return;
  }
  const { holder, stroke, line } = under;
  under = null;
  const strokes = [...strokesOf(holder), stroke];
  if (strokes.reduce((sum, each) => sum + each.length, 0) > MOST_POINTS) {
    line.remove();
    return;
  }
  keep(holder, strokes);
}

document.addEventListener("pointerup", lift);
document.addEventListener("pointercancel", lift);

document.addEventListener("click", (event) => {
  const holder = event.target.closest("[data-signature-clear]")?.closest("[data-signature]");
  if (holder) {
    pad(holder).replaceChildren();
    keep(holder, []);
  }
});

for (const holder of document.querySelectorAll("[data-signature]")) {
  for (const stroke of strokesOf(holder)) {
    draw(holder, stroke);
  }
}
