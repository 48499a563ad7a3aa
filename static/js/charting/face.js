// The face: one view large, the others small beside it, each with today's points, the plan and the last session's points.
// Draws in the task of the touch itself; only what differs from before is changed.

import { Board } from "./board.js";
import { Cautions } from "./cautions.js";
import { on } from "./dom.js";
import { attachFaceKeys } from "./face_keys.js";
import { Figure } from "./figure.js";
import { Gestures } from "./gestures.js";
import { Layers } from "./layers.js";
import { Pieces } from "./marks.js";
import { formatAmount } from "./amounts.js";
import { pictureViews } from "./picture_views.js";
import { reachTo } from "./reach.js";
import { Tools } from "./tools.js";

const HINT_MS = 4000;
const EVEN = { x: 1000, y: 1000 };

export class Face {
  constructor(screen, root) {
    const { reference } = screen.app;
    Object.assign(this, { screen, root, reference, figures: new Map(), points: [], markings: [], cursor: null });
    this.part = (name) => root.querySelector(`[data-${name}]`);
    this.pieces = new Pieces(reference);
    this.tools = new Tools();
    this.cautions = new Cautions(this);
    this.layers = new Layers(root, this.part("layers"), () => this.update());
    this.sizes = new ResizeObserver((entries) => this.resized(entries));
    reference.views.forEach((view) => this.addFigure(view));
    this.board = new Board(this);
    new Gestures(this.part("figures"), this.board);
    attachFaceKeys(this);
    this.part("figures").addEventListener("mousedown", (event) => this.keepFocus(event));
    on(root, "click", "data-show", ({ dataset }) => this.show(dataset.show));
    on(root, "click", "data-zoom", ({ dataset }) => this.zoom(dataset.zoom));
    screen.addEventListener("change", () => this.update());
    screen.app.locate = (view, x, y, jaw) => this.figures.get(view)?.locate(x, y, jaw) ?? null;
    this.update();
  }

  // A press on the drawing gives it the keyboard, and a held finger selects no text.
  keepFocus(event) {
    if (event.target.closest("[data-figure].is-shown") && !event.target.closest("button")) {
      event.preventDefault();
      this.figure.overlay.focus({ preventScroll: true });
    }
  }

  addFigure(view) {
    const figure = new Figure(view, this.pieces, (point) => this.described(point), this.reference.midline_half_width_dmm);
    figure.overlay.addEventListener("blur", () => this.moveCursor(null));
    this.figures.set(figure.id, figure);
    this.part("figures").append(figure.root, figure.here);
    this.sizes.observe(figure.overlay);
    return figure;
  }

  resized(entries) {
    for (const { target, contentRect } of entries) {
      const figure = [...this.figures.values()].find(({ overlay }) => overlay === target);
      figure?.setSize(contentRect.width, contentRect.height);
    }
    this.update();
  }

  get figure() {
    return [...this.figures.values()].find((figure) => figure.isOf(this.screen)) ?? this.figures.get("front");
  }

  // The state is read once; the large view is drawn at once, the small ones behind this frame.
  update() {
    const { state } = this.screen;
    if (!state) {
      return;
    }
    this.state = state;
    this.followPictures(state);
    this.layers.offer("last", Boolean(state.last));
    const { figure } = this;
    if (this.large !== figure) {
      this.enlarge(figure);
    }
    this.standing = state.points.filter(({ removed }) => !removed);
    this.planned = state.markings.filter(({ removed }) => !removed)
      .map((marking, index) => ({ ...marking, label: `P${index + 1}` }));
    this.points = this.standing.filter((point) => figure.isOf(point));
    this.markings = this.planned.filter((marking) => figure.isOf(marking));
    this.draw(figure);
    this.drawTools();
    this.drawRestLater();
  }

  draw(figure) {
    figure.dress(this.state.jaw, this.state.fit ?? EVEN);
    if (!figure.isMeasured) {
      return;
    }
    const planned = this.layers.isOn("plan") ? (this.state.plan?.lines ?? []) : [];
    figure.targets.draw(planned.filter((line) => figure.isOf(line)), figure.markScale);
    const isLast = this.layers.isOn("last") && this.state.last;
    figure.marks.draw({
      points: this.layers.isOn("today") ? this.standing.filter((point) => figure.isOf(point)) : [],
      markings: this.layers.isOn("plan") ? this.planned.filter((marking) => figure.isOf(marking)) : [],
      chosen: this.screen.chosen,
      scale: figure.markScale,
      earlier: isLast ? this.earlierOf(figure) : null,
    });
  }

  // The same list as long as the last session is the same, so that its points are not drawn again.
  earlierOf(figure) {
    if (figure.earlierFrom !== this.state.last) {
      figure.earlierFrom = this.state.last;
      figure.earlier = this.state.last.points.filter((point) => figure.isOf(point));
    }
    return figure.earlier;
  }

  drawTools() {
    const { point } = this.screen;
    const { figure } = this;
    const chosen = point && figure.isOf(point) && this.layers.isOn("today") ? point : null;
    this.tools.put("ring", figure, chosen);
    this.tools.put("handle", figure, this.board.handleOf(chosen));
    this.tools.put("cursor", figure, this.cursor);
  }

  drawRestLater() {
    this.restAsked ??= requestAnimationFrame(() => setTimeout(() => {
      this.restAsked = null;
      for (const figure of this.figures.values()) {
        if (figure !== this.large) {
          this.draw(figure);
        }
        const count = this.standing.filter((point) => figure.isOf(point)).length;
        figure.count.textContent = count || "";
      }
      this.cautions.show();
    }));
  }

  followPictures(state) {
    const views = pictureViews(state, this.screen.app);
    const wanted = new Set(views.map(({ picture }) => `picture-${picture}`));
    for (const [id, figure] of this.figures) {
      const view = views.find(({ picture }) => id === `picture-${picture}`);
      const isOther = view && `${view.box} ${view.sides}` !== `${figure.view.box} ${figure.view.sides}`;
      if (figure.view.picture && (!wanted.has(id) || isOther)) {
        this.sizes.unobserve(figure.overlay);
        figure.root.remove();
        figure.here.remove();
        this.figures.delete(id);
      }
    }
    for (const view of views) {
      if (!this.figures.has(`picture-${view.picture}`)) {
        this.addFigure(view);
      }
    }
  }

  show(id) {
    const { view } = this.figures.get(id);
    this.screen.look(view.key, view.picture ?? null);
  }

  enlarge(figure) {
    this.cursor = null;
    this.large?.sight.whole();
    this.large = figure;
    for (const each of this.figures.values()) {
      const isLarge = each === figure;
      each.isLarge = isLarge;
      each.root.classList.toggle("is-shown", isLarge);
      each.button.setAttribute("aria-pressed", String(isLarge));
      each.overlay.setAttribute("role", isLarge ? "application" : "img");
      each.overlay[isLarge ? "setAttribute" : "removeAttribute"]("tabindex", "0");
      each.overlay[isLarge ? "setAttribute" : "removeAttribute"]("aria-describedby", "face-keys");
    }
    for (const each of this.figures.values()) {
      each.measure();
    }
    this.part("side-start").textContent = figure.view.sides[0];
    this.part("side-end").textContent = figure.view.sides[1];
    this.showZoom();
  }

  // After the sight moved: marks keep their size on the screen. Numbers are placed anew with them.
  lookAgain() {
    this.large.look();
    this.draw(this.large);
    this.drawTools();
    this.showZoom();
  }

  zoom(way) {
    const { sight } = this.large;
    if (way === "whole") {
      sight.whole();
    } else {
      const about = this.cursor ?? this.screen.point;
      const middle = { x: sight.pixels.width / 2, y: sight.pixels.height / 2 };
      sight.zoomAt(about && this.large.isOf({ ...this.screen, ...about }) ? sight.toPixels(about) : middle, way === "in" ? 1.5 : 1 / 1.5);
    }
    this.lookAgain();
  }

  showZoom() {
    const { zoom } = this.large.sight;
    this.part('zoom="out"').disabled = zoom <= 1;
    this.part('zoom="whole"').disabled = zoom <= 1;
    this.root.classList.toggle("face--near", zoom > 1);
  }

  // While two fingers are at work the face is moved as a picture and painted sharply when they are gone.
  moving(isMoving) {
    this.root.classList.toggle("face--moving", isMoving);
  }

  showMoving(point) {
    this.large.marks.moveLive(point);
    this.tools.put("ring", this.large, point.key === this.screen.chosen ? point : null);
    this.tools.put("handle", this.large, point.key === this.screen.chosen ? this.board.handleOf(point) : null);
  }

  aimAt(place) {
    this.tools.put("aim", this.large, place);
    this.cautions.show(place && { ...place, ...this.placeOn(place) });
  }

  moveCursor(place) {
    this.cursor = place;
    this.tools.put("cursor", this.large, place);
    if (place && this.large.sight.reveal(place)) {
      this.lookAgain();
    }
  }

  // {view, picture, region, side}; the last two null off the drawing.
  placeOn(place) {
    const { key, picture } = this.large.view;
    const { region = null, side = null } = this.large.regionAt(place) ?? {};
    return { view: key, picture: picture ?? null, region, side };
  }

  placeAt(place, end) {
    const on = this.placeOn(place);
    if (!this.screen.isOpen) {
      this.hint("This session is read here, not changed.");
    } else if (!this.large.view.image && !this.large.regions) {
      this.hint("Nothing placed: the drawing is still being loaded.");
    } else if (on.region === null) {
      this.hint("Nothing placed: that is off the drawing.");
    } else {
      this.log({ ...place, ...on, ...reachTo(place, end) });
    }
  }

  log(place) {
    this.part("face-hint").hidden = true;
    const layer = this.screen.mode === "planned" ? "plan" : "today";
    if (!this.layers.isOn(layer)) {
      this.layers.set(layer, true);
    }
    return this.screen.logAt({ reach_x_dmm: null, reach_y_dmm: null, picture: null, marking: null, ...place });
  }

  hint(text) {
    const line = this.part("face-hint");
    line.textContent = text;
    line.hidden = false;
    clearTimeout(this.hintTimer);
    this.hintTimer = setTimeout(() => {
      line.hidden = true;
    }, HINT_MS);
    this.screen.say(text);
  }

  described(point) {
    const { screen } = this;
    const amount = formatAmount(point.amount, point.measure);
    const how = [screen.word("plane", point.plane), screen.word("technique", point.technique)].join(", ").toLowerCase();
    const kept = { tablet: ", stored on this tablet", storing: ", being stored", memory: ", not stored yet", attention: ", needs attention" }[point.where] ?? "";
    return `${point.number}: ${screen.placeName(point.region, point.side)}, ${amount}, ${how}${kept}`;
  }
}

export function attachFace(screen, root) {
  return new Face(screen, root);
}
