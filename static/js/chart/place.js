// From the screen to the chart: tenths of a millimetre in the drawing's own axes, and the mark under a finger.

// A finger this near to a mark's centre, in CSS pixels, means the mark; farther away it means a new point. Two points
// 5 mm apart are about 15 px apart, so it must stay below that; the table chooses what a finger cannot.
const MARK_REACH_PX = 13;

export function placeOf(svg, event) {
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  return { x: Math.round(at.x * 10), y: Math.round(at.y * 10) };
}

export function pixelsPerTenth(svg) {
  return svg.getScreenCTM().a / 10;
}

export function rowUnder(svg, view, place) {
  const scale = pixelsPerTenth(svg);
  let nearest = null;
  let reach = MARK_REACH_PX;
  for (const row of document.querySelectorAll(`[data-row][data-view="${view}"]`)) {
    const distance = Math.hypot(Number(row.dataset.x) - place.x, Number(row.dataset.y) - place.y) * scale;
    if (distance < reach) {
      nearest = row;
      reach = distance;
    }
  }
  return nearest;
}

export function svgOf(view) {
  return document.querySelector(`[data-figure="${view}"] svg`);
}

const NAMESPACE = "http://www.w3.org/2000/svg";

// A circle drawn over everything else on a view; `name` is its class. x and y in tenths of a millimetre.
export function ring(view, name, x, y, radiusMm) {
  const group = document.createElementNS(NAMESPACE, "g");
  group.setAttribute("class", name);
  group.setAttribute("transform", `translate(${x / 10} ${y / 10})`);
  const circle = document.createElementNS(NAMESPACE, "circle");
  circle.setAttribute("r", radiusMm);
  group.append(circle);
  svgOf(view)?.append(group);
  return group;
}
