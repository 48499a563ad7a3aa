// What a hand does on the tablet, chosen by dice (numbers from 0 to 1) from what the tablet shows at that moment.
// Each act returns a few words for the run's log, or null when there is nothing to do it on.
(() => {
  const WASTE_REASON = "Drop to prime the needle";
  const app = () => window.charting;
  const pick = (list, dice) => list[Math.floor(dice * list.length)];
  const pks = (rows) => rows.map(({ unit, pk }) => unit?.pk ?? pk);
  const key = () => crypto.randomUUID();

  const open = (keys) => keys.map((each) => app().session(each)).filter((state) => state?.is_open);
  const leftIn = (row) => row.left ?? row.unit.content - row.unit.drawn - row.unit.wasted;
  const standing = (state) => state.points.filter(({ removed }) => !removed);

  // A place that is on the face for certain: the reference's own for a region, give or take a millimetre.
  const place = (state, dice, more) => {
    const regions = Object.entries(app().reference.places[state.jaw]);
    const [region, sides] = pick(regions, dice);
    const [side, { view, x_dmm: x, y_dmm: y }] = pick(Object.entries(sides), more);
    return { view, x_dmm: x, y_dmm: y, region, side };
  };

  const details = (state, dice) => {
    const row = pick(state.tray, dice[1]);
    const [, , ask, where, side, way] = dice;
    // Now and then more than is left: the clinic refuses it, and a person has to say what it was.
    const amount = ask > 0.97 ? leftIn(row) + 10 : 1 + Math.floor(ask * 8);
    return {
      unit: pks([row])[0], ...place(state, where, side), reach_x_dmm: null, reach_y_dmm: null, picture: null,
      plane: pick(["supraperiosteal", "deep_dermal"].filter(known("plane")), way), technique: "bolus",
      instrument: "needle", gauge: 27, length_mm: 13, aspiration: "negative", amount, deviation: "", marking: null,
    };
  };
  const known = (word) => (each) => app().reference.words[word].some(([name]) => name === each);

  const onPoint = (act) => (state, dice) => {
    const point = pick(standing(state), dice[1]);
    return point ? act(state, point, dice) : null;
  };

  const ACTS = {
    log(state, dice) {
      if (!state.tray.length) {
        return ACTS.open(state, dice);
      }
      app().act("log", state.key, { key: key(), ...details(state, dice) });
      return "logged";
    },
    change: onPoint((state, point, dice) => {
      if (!state.tray.length) {
        return null;
      }
      app().act("change", state.key, { ...details(state, dice), key: point.key });
      return `changed ${point.key.slice(0, 8)}`;
    }),
    move: onPoint((state, point, dice) => {
      const { x_dmm, y_dmm, view } = place(state, dice[2], dice[3]);
      if (view !== point.view) {
        return null;
      }
      app().act("move", state.key, { key: point.key, x_dmm, y_dmm, reach_x_dmm: null, reach_y_dmm: null });
      return `moved ${point.key.slice(0, 8)}`;
    }),
    remove: onPoint((state, point) => {
      app().act("remove", state.key, { key: point.key });
      return `removed ${point.key.slice(0, 8)}`;
    }),
    restore(state, dice) {
      const point = pick(state.points.filter(({ removed }) => removed), dice[1]);
      return point ? app().act("restore", state.key, { key: point.key }) && "restored" : null;
    },
    mirror: onPoint((state, point) => {
      if (point.view !== "front" || point.side === "midline") {
        return null;
      }
      const side = { left: "right", right: "left" }[point.side] ?? "";
      const names = ["unit", "view", "y_dmm", "region", "plane", "technique", "instrument", "gauge", "length_mm",
        "aspiration", "amount"];
      const same = Object.fromEntries(names.map((name) => [name, point[name]]));
      app().act("log", state.key, {
        ...same, key: key(), x_dmm: -point.x_dmm, side, reach_x_dmm: null, reach_y_dmm: null, picture: null,
        deviation: "", marking: null,
      });
      return "mirrored";
    }),
    undo: (state) => (app().canUndo(state.key) ? (app().undo(state.key), "undone") : null),
    redo: (state) => (app().canRedo(state.key) ? (app().redo(state.key), "done again") : null),
    waste(state, dice) {
      const row = pick(state.tray.filter((each) => leftIn(each) > 10), dice[1]);
      return row
        ? app().act("waste", state.key, { unit: pks([row])[0], amount: 1 + Math.floor(dice[2] * 4), reason: WASTE_REASON })
          && "wasted"
        : null;
    },
    // One of the first few of a lot, so that two tablets reach for the same one.
    open(state, dice) {
      const lots = app().day.stock.products.flatMap(({ lots: each }) => each);
      const unit = pick((pick(lots, dice[1])?.units ?? []).slice(0, 3), dice[2]);
      if (!unit || pks(state.tray).includes(unit.pk)) {
        return null;
      }
      app().act("open", state.key, { unit: unit.pk, diluent_ul: null, no_diluent: false, deviation: "" });
      return `opened unit ${unit.pk}`;
    },
    put_back(state, dice) {
      const used = new Set(state.points.map(({ unit }) => unit));
      const row = pick(state.tray.filter((each) => !used.has(pks([each])[0]) && leftIn(each) === (each.unit ?? each).content), dice[1]);
      return row ? app().act("put_back", state.key, { unit: pks([row])[0] }) && "put back" : null;
    },
    edit(state, dice) {
      app().act("edit", state.key, { note: `Note ${Math.floor(dice[1] * 1e6)}` });
      return "note";
    },
    plan(state, dice) {
      app().act("plan", state.key, { key: key(), ...place(state, dice[1], dice[2]) });
      return "planned";
    },
    unplan(state, dice) {
      const marking = pick(state.markings.filter(({ removed }) => !removed), dice[1]);
      return marking ? app().act("unplan", state.key, { key: marking.key }) && "unplanned" : null;
    },
    set_aside: (state) => app().act("set_aside", state.key, {}) && `session ${state.key} set aside`,
  };

  const start = (keys, dice) => {
    const busy = new Set([...keys.map((each) => app().session(each)), ...app().day.sessions]
      .filter((state) => state && !state.signed).map(({ patient }) => patient.pk));
    const patient = pick(app().day.patients.filter(({ pk }) => !busy.has(pk)), dice[1]);
    const appointment = app().day.appointments.find((each) => each.patient === patient?.pk)?.pk ?? null;
    return patient ? `session ${app().startSession(patient.pk, dice[2] < 0.8 ? appointment : null, "average")}` : null;
  };

  Object.assign(window.chaos, {
    do(kind, keys, dice) {
      if (!app()?.day || !app().reference) {
        return null;
      }
      if (kind === "start") {
        return start(keys, dice);
      }
      const fits = (state) => kind !== "set_aside" || state.is_empty;
      const state = pick(open(keys).filter(fits), dice[0]);
      return state ? ACTS[kind](state, dice) : start(keys, dice);
    },
    // Where a finger goes for the next point, with a session's chart in sight; null without a chart to touch.
    async touchAt(keys, dice) {
      const state = app()?.day && app().reference ? pick(open(keys), dice[0]) : null;
      if (!state?.tray.length) {
        return null;
      }
      if (location.hash.slice(1) !== state.key) {
        location.hash = state.key;
        await frames(3);
      }
      const paper = document.querySelector("[data-figure=front].is-shown .face__paper svg");
      const { view, x_dmm: x, y_dmm: y } = place(state, dice[1], dice[2]);
      if (!paper || view !== "front") {
        return null;
      }
      const at = new DOMPoint(x / 10 + 8 * dice[3] - 4, y / 10 + 8 * dice[4] - 4).matrixTransform(paper.getScreenCTM());
      return { x: at.x, y: at.y };
    },
    // A person looks at one act that needs one, and chooses among what is offered.
    settle(dice) {
      if (!window.chaos.isReady()) {
        return null;
      }
      const entry = pick(app().waiting.filter(({ state }) => ["refused", "conflict"].includes(state)), dice[0]);
      if (!entry) {
        return null;
      }
      const offered = (entry.conflict?.choices ?? []).map(({ act }) => act);
      const choice = pick(offered.length ? offered : ["drop"], dice[1]);
      const extra = extraFor(choice, entry.op, dice);
      if (!extra) {
        return null;
      }
      app().resolve(entry.op.id, choice, extra);
      return `${entry.state} ${entry.op.kind} ${entry.op.id.slice(0, 8)}: ${choice}`;
    },
  });

  const frames = async (count) => {
    for (let left = count; left; left -= 1) {
      // A page out of sight gets no frames.
      await new Promise((resolve) => { requestAnimationFrame(resolve); setTimeout(resolve, 100); });
    }
  };

  // What a person types with a choice; null when it cannot be made just now.
  const extraFor = (choice, op, dice) => {
    const state = app().session(op.session);
    if (choice === "deviation") {
      return { reason: "It was in the patient before the notice came" };
    }
    if (choice === "edit") {
      return { data: "amount" in op.data ? { amount: 1 } : {} };
    }
    if (choice === "other_unit") {
      const stock = app().day.stock.products.flatMap(({ lots }) => lots).flatMap(({ units }) => units);
      const other = pick(stock.filter(({ pk }) => pk !== op.data.unit && !pks(state.tray).includes(pk)), dice[2]);
      return other ? { unit: other.pk } : null;
    }
    return choice === "addendum" ? { reason: "Sent after signing", text: `On the tablet: ${op.kind} ${op.id}.` } : {};
  };
})();
