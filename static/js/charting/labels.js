// Where the number of each mark stands: the twin of planning/atlas/mark_labels.py, compared with it by a test, so that
// tablet and printed note agree. Millimetres; a mark is [x, y, label].

import { overlap } from "./boxes.js";

export const FONT_MM = 3.6;
const MARK_MM = 2.7;
const DIGIT_MM = 2.15;
const RINGS_MM = [4.7, 7.6, 10.6, 13.6];
const ANGLES = [0, 180, -45, -135, 45, 135, -90, 90];
const TURNS = ANGLES.map((angle) => [Math.cos((angle * Math.PI) / 180), Math.sin((angle * Math.PI) / 180)]);

function candidate([x, y, label], radius, [cos, sin], scale) {
  const outward = x < 0 ? -1 : 1;
  const reach = (radius + (DIGIT_MM * (label.length - 1)) / 2) * scale;
  return { label, x: x + outward * reach * cos, y: y + radius * scale * sin, far: radius > RINGS_MM[0] };
}

function labelBox({ label, x, y }, scale) {
  const half = ((DIGIT_MM * label.length) / 2 + 0.2) * scale;
  const rise = FONT_MM * 0.45 * scale;
  return [x - half, y - rise, x + half, y + rise];
}

function markBox([x, y], scale) {
  const half = MARK_MM * scale;
  return [x - half, y - half, x + half, y + half];
}

function crowding(box, others, skip, enough) {
  let sum = 0;
  for (let index = 0; index < others.length; index += 1) {
    if (index !== skip) {
      sum += overlap(box, others[index]);
      if (sum >= enough) {
        return sum;
      }
    }
  }
  return sum;
}

function bestPlace(mark, index, obstacles, scale) {
  let best = candidate(mark, RINGS_MM[0], TURNS[0], scale);
  let least = Infinity;
  for (const radius of RINGS_MM) {
    for (const turn of TURNS) {
      const option = candidate(mark, radius, turn, scale);
      const crowd = crowding(labelBox(option, scale), obstacles, index, least);
      if (crowd < least - 1e-9) {
        best = option;
        least = crowd;
      }
    }
    if (least === 0) {
      break;
    }
  }
  return best;
}

const LINE_HALF_MM = 0.8;

// Small boxes all along the lines [[from, to], ...].
function lineBoxes(lines, scale) {
  const half = LINE_HALF_MM * scale;
  return lines.flatMap(([from, to]) => {
    const pieces = Math.max(1, Math.ceil(Math.hypot(to.x - from.x, to.y - from.y) / (2 * half)));
    return Array.from({ length: pieces + 1 }, (_, piece) => {
      const share = piece / pieces;
      const [x, y] = [from.x + (to.x - from.x) * share, from.y + (to.y - from.y) * share];
      return [x - half, y - half, x + half, y + half];
    });
  });
}

// One place {label, x, y, far} for each mark, in the order given; clear of `lines` (threads and fans) too.
export function placeLabels(marks, scale = 1, lines = []) {
  const obstacles = [...marks.map((mark) => markBox(mark, scale)), ...lineBoxes(lines, scale)];
  return marks.map((mark, index) => {
    const best = bestPlace(mark, index, obstacles, scale);
    obstacles.push(labelBox(best, scale));
    return best;
  });
}

const WORD_MM = 1.75;
const LINE_MM = 3.3;

// Where there is room, the amount of a bolus stands with its number: {x, y} of its middle, or null. `words` holds one
// text for each mark, "" for none. The numbers keep their places; a table beside the drawing has every amount.
export function placeAmounts(marks, labels, words, scale = 1, lines = []) {
  const taken = [
    ...marks.map((mark) => markBox(mark, scale)), ...labels.map((label) => labelBox(label, scale)), ...lineBoxes(lines, scale),
  ];
  return words.map((word, index) => {
    if (!word) {
      return null;
    }
    const label = labels[index];
    const half = ((WORD_MM * word.length) / 2) * scale;
    const beside = half + ((DIGIT_MM * label.label.length) / 2 + 0.5) * scale;
    const outward = label.x < marks[index][0] ? -1 : 1;
    const rise = 1.5 * scale;
    const places = [[0, LINE_MM * scale], [0, -LINE_MM * scale], [outward * beside, 0]];
    for (const [byX, byY] of places) {
      const at = { x: label.x + byX, y: label.y + byY };
      const box = [at.x - half, at.y - rise, at.x + half, at.y + rise];
      if (taken.every((other) => overlap(box, other) === 0)) {
        taken.push(box);
        return at;
      }
    }
    return null;
  });
}
