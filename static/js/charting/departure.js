// Leaving the tablet, and taking over what another person left on it. Nothing clinical stays behind unless it was handed
// over: then what waits moves into the tablet's own database, and only what waits.

import { newKey } from "./ids.js";
import { unsent } from "./kept.js";
import { needsPerson, newRecord, sendable } from "./operations.js";
import { TabletStore, UserStore } from "./store.js";

// A record as a parcel keeps it.
const told = ({ id, op, hint, state, message, conflict }) => ({ id, op, hint, state, message, conflict });

// `message` says what failed; that something waits is said by whoever asks.
const unread = (waiting) => ({ left: false, waiting, message: "What waits on this tablet cannot be read. Nothing was deleted; try again." });

// For pages without the charting screen: who works on this tablet and how many acts wait. {user: null, count: 0} if none.
export async function waitingOnTablet() {
  const tablet = new TabletStore();
  const user = await tablet.read("user").catch(() => null);
  if (!user) {
    await tablet.close();
    return { user: null, count: 0 };
  }
  const store = new UserStore(user.id);
  const kept = await store.load().catch(() => ({ operations: [], pictures: [] }));
  await Promise.all([tablet.close(), store.close()]);
  return { user, count: kept.operations.length + unsent(kept.pictures).length };
}

// As Charting.leave, for pages without the charting screen; it cannot send, so the screen is asked first if it can be.
export async function leaveTablet({ handOver = false } = {}) {
  const tablet = new TabletStore();
  const user = await tablet.read("user").catch(() => null);
  if (!user) {
    await tablet.close();
    return { left: true, waiting: 0 };
  }
  const store = new UserStore(user.id);
  const kept = await store.load().catch(() => null);
  if (!kept) {
    await tablet.close();
    return unread(0);
  }
  const pictures = unsent(kept.pictures);
  const outcome = await part({ tablet, store, user, operations: kept.operations, pictures }, handOver);
  if (outcome.left && window.BroadcastChannel) {
    const channel = new BroadcastChannel(`charting-${user.id}`);
    channel.postMessage({ type: "left" });
    channel.close();
  }
  await tablet.close();
  return outcome;
}

export async function depart(app, handOver) {
  if (!app.user) {
    return { left: true, waiting: 0 };
  }
  await app.queue.writeAgain();
  // What another tab wrote and this one has not read belongs to what waits.
  app.dirty = true;
  await app.flush();
  const isKnown = await app.reload();
  const { tablet, store, user, kept, queue } = app;
  if (!isKnown) {
    return unread(queue.records.size);
  }
  const rows = queue.ordered.map(told);
  const pictures = kept.open.map(({ written, failed, ...picture }) => picture);
  const outcome = await part({ tablet, store, user, operations: rows, pictures }, handOver);
  if (outcome.left) {
    app.tell({ type: "left" });
    app.forget();
  }
  return outcome;
}

// What of one person waits on the tablet for whoever comes next.
function parcelOf(author, operations, pictures = []) {
  return { id: newKey(), author, at: new Date().toISOString(), operations, pictures };
}

async function part({ tablet, store, user, operations, pictures }, handOver) {
  const waiting = operations.length + pictures.length;
  if (waiting && !handOver) {
    return { left: false, waiting, message: "" };
  }
  try {
    if (waiting) {
      await tablet.handOver(parcelOf(user, operations, pictures));
    }
    await store.delete();
    await tablet.write("user", undefined);
  } catch {
    return { left: false, waiting, message: "This tablet could not write. Nothing was deleted; try again." };
  }
  return { left: true, waiting };
}

// What nobody but its author can settle: what a person has to decide, what stands behind it, and a signature.
export function forAuthor(operations) {
  const free = new Set(sendable(operations, ({ op }) => op.kind === "sign", Infinity));
  return operations.filter((row) => !free.has(row));
}

// What was handed over becomes this person's to send, in its author's name; what is for its author stays, unless this is
// the author. Gives the number of acts.
export async function takeParcels(app) {
  const parcels = await app.tablet.handedOver();
  let count = 0;
  for (const parcel of parcels) {
    const { id, author, operations, pictures } = parcel;
    const left = author.id === app.user.id ? [] : forAuthor(operations);
    const records = operations.filter((row) => !left.includes(row)).map(({ op, hint, state, message, conflict }) => ({
      ...newRecord({ author_name: author.name, ...op, handed_over: op.author !== app.user.id }, hint),
      ...{ state, message, conflict, numbered: true },
    }));
    app.queue.add(records);
    pictures.forEach((picture) => app.kept.pictures.set(picture.key, { author: author.id, ...picture }));
    await app.queue.write();
    await Promise.all(pictures.map(({ key }) => app.kept.save(app.kept.pictures.get(key))));
    if (records.every(({ written }) => written) && pictures.every(({ key }) => app.kept.pictures.get(key).written)) {
      await (left.length ? app.tablet.handOver({ ...parcel, operations: left, pictures: [] }) : app.tablet.forgetParcel(id));
    }
    count += records.length + pictures.length;
    app.changed([...new Set(records.map(({ op }) => op.session))]);
  }
  await app.readParcels();
  app.flush();
  return count;
}

// What went out in its author's name and the clinic did not take is its author's to decide: it waits for them here.
export async function giveBack(app) {
  const others = app.queue.ordered.filter(({ op }) => op.author !== app.user.id);
  if (!others.some(needsPerson)) {
    return;
  }
  const back = forAuthor(others);
  for (const author of new Set(back.map(({ op }) => op.author))) {
    const operations = back.filter(({ op }) => op.author === author).map(told);
    const person = { id: author, name: operations[0].op.author_name };
    await app.tablet.handOver(parcelOf(person, operations));
  }
  app.queue.add([], back.map(({ id }) => id));
  await app.readParcels();
  app.changed([...new Set(back.map(({ op }) => op.session))]);
}
