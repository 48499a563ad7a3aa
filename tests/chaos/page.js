// Added to every page of a chaos run before its own scripts: a clock that can be moved, and a recorder of each act.
// Acts are noted as they were asked for, with the id that the tablet gave them.
(() => {
  const RealDate = Date;
  let ahead = 0; // milliseconds
  window.Date = class extends RealDate {
    constructor(...given) {
      given.length ? super(...given) : super(RealDate.now() + ahead);
    }
    static now() {
      return RealDate.now() + ahead;
    }
  };

  const acts = [];
  const choices = [];
  const copy = (value) => JSON.parse(JSON.stringify(value ?? null));

  // Every act of a hand, undo and redo included, goes through the instance's `perform`.
  const watch = (charting) => {
    const perform = charting.perform.bind(charting);
    charting.perform = (kind, session, data, ...rest) => {
      const asked = copy(data);
      const op = perform(kind, session, data, ...rest);
      acts.push({ id: op.id, kind, session, data: asked, base: op.base });
      return op;
    };
    const resolve = charting.resolve.bind(charting);
    charting.resolve = (id, choice, ...rest) => noted(charting, id, choice, () => resolve(id, choice, ...rest));
  };

  // What went with a choice, what was made for it, and what it put on top of something else: a choice must never lose an
  // act that it did not say it drops.
  const noted = (charting, id, choice, resolve) => {
    const { op: { kind }, state: was, message } = charting.queue.records.get(id);
    const before = [...charting.queue.ordered];
    const bases = new Map(before.map(({ id: known, op }) => [known, op.base]));
    const result = resolve();
    const after = charting.queue.ordered;
    const seen = ({ op }) => ({ id: op.id, kind: op.kind, session: op.session, data: op.data, base: op.base });
    choices.push(copy({
      id, kind, choice, was, message,
      gone: before.filter((record) => !after.includes(record)).map(seen),
      made: after.filter((record) => !before.includes(record)).map(seen),
      rebased: after.filter(({ id: known, op }) => bases.has(known) && bases.get(known) !== op.base).map(seen),
    }));
    return result;
  };

  // From its first moment: a page may stand ready only after the one who loads it has lost patience.
  let current;
  Object.defineProperty(window, "charting", {
    get: () => current,
    set: (charting) => { watch(charting); current = charting; },
  });

  const isReady = () => Boolean(window.charting?.day && window.charting.reference);
  let asked = null; // a sending that was begun to learn how things stand
  const CONDITIONS = {
    // A whole round to the clinic and back has been made: the day's list and every session it says has changed.
    fresh() {
      if (!asked && isReady()) {
        asked = {};
        window.charting.flush().then(() => {
          asked = window.charting.contact.state === "ok" ? { isDone: true } : null;
        }, () => { asked = null; });
      }
      return asked?.isDone === true;
    },
    // What the tablet keeps is read, and the page knows whose it is.
    ready: isReady,
    // Everything has gone that can go without a person.
    sent() {
      window.charting?.flush();
      return isReady() && window.charting.waiting.every(({ state }) => state === "refused" || state === "conflict");
    },
  };

  window.chaos = {
    isReady,
    // Whether a condition comes true within so many milliseconds. The page's policy forbids the browser driver's own way.
    async until(name, patience) {
      const giveUpAt = performance.now() + patience;
      while (!CONDITIONS[name]()) {
        if (performance.now() > giveUpAt) {
          return false;
        }
        await new Promise((resolve) => setTimeout(resolve, 50));
      }
      return true;
    },
    moveClock: (milliseconds) => { ahead += milliseconds; },
    // What was done since the last call, and where every act of this page is.
    news: () => {
      if (!window.charting?.queue) {
        return null;
      }
      const { queue } = window.charting;
      const waiting = (queue?.ordered ?? []).map(({ op, written, state, message, conflict }) => (
        { id: op.id, kind: op.kind, session: op.session, written: Boolean(written), state, message, conflict: copy(conflict) }
      ));
      return { acts: acts.splice(0), choices: choices.splice(0), waiting };
    },
    // Standing points by key, of those sessions that this tablet shows, and the units on their trays.
    shown: (keys) => {
      const sessions = keys.filter((key) => window.charting.session(key));
      const points = sessions.flatMap((key) => window.charting.session(key).points
        .filter(({ removed }) => !removed)
        .map((point) => ({ ...point, session: key })));
      const trays = sessions.flatMap((key) => window.charting.session(key).tray);
      return copy({ sessions, points, held: Object.fromEntries(trays.map(({ pk, held }) => [pk, Boolean(held)])) });
    },
  };
})();
