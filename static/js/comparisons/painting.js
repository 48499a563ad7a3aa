// A comparison on a canvas. Layers lie in the axes of the first picture; a pane is the part of the canvas, in CSS pixels,
// that shows them as the sight has it.

const EDGE_PX = 2;
const GRIP_PX = 16;

// Left, top, width, height of each pane: two beside each other, or one.
export function panesOf(mode, { width, height }, gap) {
  if (mode !== "beside") {
    return [{ left: 0, width, height }];
  }
  const half = (width - gap) / 2;
  return [{ left: 0, width: half, height }, { left: half + gap, width: half, height }];
}

function within(context, { left, top = 0, width, height }, draw) {
  context.save();
  context.beginPath();
  context.rect(left, top, width, height);
  context.clip();
  draw();
  context.restore();
}

function paintLayer(context, pane, sight, { image, width, height, matrix, outline }, opacity = 1) {
  context.save();
  context.globalAlpha = opacity;
  context.translate(pane.left + pane.width / 2, pane.height / 2);
  context.scale(sight.scale, sight.scale);
  context.translate(-sight.middle.x, -sight.middle.y);
  if (outline) {
    context.beginPath();
    outline.forEach(([x, y]) => context.lineTo(x, y));
    context.clip();
  }
  context.transform(...matrix);
  context.drawImage(image, 0, 0, width, height);
  context.restore();
}

function paintEdge(context, x, height) {
  context.save();
  context.strokeStyle = context.fillStyle = "#ffffff";
  context.shadowColor = "#000000";
  context.shadowBlur = 3;
  context.lineWidth = EDGE_PX;
  context.beginPath();
  context.moveTo(x, 0);
  context.lineTo(x, height);
  context.stroke();
  context.beginPath();
  context.arc(x, height / 2, GRIP_PX, 0, 2 * Math.PI);
  context.fill();
  context.shadowBlur = 0;
  context.strokeStyle = "#333333";
  context.beginPath();
  for (const way of [-1, 1]) {
    context.moveTo(x + way * 4, height / 2 - 5);
    context.lineTo(x + way * 9, height / 2);
    context.lineTo(x + way * 4, height / 2 + 5);
  }
  context.stroke();
  context.restore();
}

// share: where the curtain's edge is, or how much of the later picture shows, from 0 to 1.
export function paint(context, { mode, share, panes, sight, layers: [first, second] }) {
  context.imageSmoothingQuality = "high";
  const [pane, other] = panes;
  if (mode === "beside") {
    within(context, pane, () => paintLayer(context, pane, sight, first));
    within(context, other, () => paintLayer(context, other, sight, second));
  } else if (mode === "curtain") {
    const edge = pane.width * share;
    within(context, { ...pane, width: edge }, () => paintLayer(context, pane, sight, first));
    within(context, { ...pane, left: edge, width: pane.width - edge }, () => paintLayer(context, pane, sight, second));
    paintEdge(context, edge, pane.height);
  } else {
    within(context, pane, () => {
      paintLayer(context, pane, sight, first);
      paintLayer(context, pane, sight, second, share);
    });
  }
}
