// How one view lies on the screen: which part of its box is seen, how near, and where a place is. No page in here.
//
// Chart: tenths of a millimetre as they are stored. Paper: the drawing's millimetres, scaled to the patient's own
// measures by `fit` (permille). Pixels: CSS pixels from the figure's corner.

const NEAREST = 6;

export class Sight {
  constructor([left, top, width, height]) {
    this.box = { left, top, width, height };
    this.pixels = { width: 0, height: 0 };
    this.fit = { x: 1, y: 1 };
    this.whole();
  }

  whole() {
    this.zoom = 1;
    this.middle = { x: this.box.left + this.box.width / 2, y: this.box.top + this.box.height / 2 };
  }

  // Pixels per millimetre of paper before zooming; 0 while the figure is not in the page's layout.
  get base() {
    return Math.min(this.pixels.width / this.box.width, this.pixels.height / this.box.height);
  }

  get scale() {
    return this.base * this.zoom;
  }

  // left, top, width, height of the paper that the whole figure shows, for a viewBox.
  get seen() {
    const [width, height] = [this.pixels.width / this.scale, this.pixels.height / this.scale];
    return [this.middle.x - width / 2, this.middle.y - height / 2, width, height];
  }

  toPaper({ x_dmm, y_dmm }) {
    return { x: (x_dmm / 10) * this.fit.x, y: (y_dmm / 10) * this.fit.y };
  }

  toPixels(place) {
    const at = this.toPaper(place);
    return {
      x: (at.x - this.middle.x) * this.scale + this.pixels.width / 2,
      y: (at.y - this.middle.y) * this.scale + this.pixels.height / 2,
    };
  }

  toChart({ x, y }) {
    const paperX = (x - this.pixels.width / 2) / this.scale + this.middle.x;
    const paperY = (y - this.pixels.height / 2) / this.scale + this.middle.y;
    return { x_dmm: Math.round((paperX / this.fit.x) * 10), y_dmm: Math.round((paperY / this.fit.y) * 10) };
  }

  // What is under the pixel stays under it.
  zoomAt({ x, y }, factor) {
    const zoom = Math.max(1, Math.min(NEAREST, this.zoom * factor));
    const [fromX, fromY] = [x - this.pixels.width / 2, y - this.pixels.height / 2];
    const by = 1 / this.scale;
    this.zoom = zoom;
    const now = 1 / this.scale;
    this.lookAt(this.middle.x + fromX * (by - now), this.middle.y + fromY * (by - now));
  }

  panBy(byX, byY) {
    this.lookAt(this.middle.x - byX / this.scale, this.middle.y - byY / this.scale);
  }

  // The sight stays on the box; along an axis that fits whole it stays in the middle.
  lookAt(x, y) {
    const { left, top, width, height } = this.box;
    const [, , seenWidth, seenHeight] = this.seen;
    const within = (value, start, length, seen) =>
      seen >= length ? start + length / 2 : Math.max(start + seen / 2, Math.min(value, start + length - seen / 2));
    this.middle = { x: within(x, left, width, seenWidth), y: within(y, top, height, seenHeight) };
  }

  // Bring a place into sight.
  reveal(place) {
    const at = this.toPixels(place);
    const edge = 24;
    const beyond = (value, length) => Math.min(0, value - edge) + Math.max(0, value - length + edge);
    const [byX, byY] = [beyond(at.x, this.pixels.width), beyond(at.y, this.pixels.height)];
    if (byX || byY) {
      this.panBy(-byX, -byY);
    }
    return Boolean(byX || byY);
  }

  // The CSS transform that brings a drawing of the whole box to where the sight has it.
  get transform() {
    const { left, top, width, height } = this.box;
    const byX = (left + width / 2 - this.middle.x) * this.scale;
    const byY = (top + height / 2 - this.middle.y) * this.scale;
    return `translate(${byX}px, ${byY}px) scale(${this.zoom})`;
  }
}
