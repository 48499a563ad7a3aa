// People who charted on this tablet before: how much of whose is not in the clinic yet. What the clinic has of theirs is
// deleted; what waits is bound to its author and stays.

import { icon, node, patch } from "../charting/dom.js";
import { TabletStore, UserStore } from "../charting/store.js";

const PEOPLE = "people";

// The name is kept to be told later; nothing else says whose the entries are.
async function rememberPerson({ id, name }) {
  const tablet = new TabletStore();
  const people = (await tablet.read(PEOPLE)) ?? {};
  await tablet.write(PEOPLE, { ...people, [id]: name });
  await tablet.close();
}

// Deletes the snapshots, the day, the steps to undo and the photographs that the clinic has. Gives what is left.
async function emptied(store) {
  const names = ["operations", "sessions", "history", "day", "pictures"];
  return store.transact("readwrite", names, (operations, sessions, history, day, pictures) => {
    [sessions, history, day].forEach((each) => each.clear());
    const asked = operations.count();
    let unsent = 0;
    pictures.openCursor().onsuccess = ({ target: { result: cursor } }) => {
      if (!cursor) {
        return;
      }
      cursor.value.state === "sent" ? cursor.delete() : (unsent += 1);
      cursor.continue();
    };
    return () => asked.result + unsent;
  });
}

// Of one person; their database goes when nothing of it waits. Gives how much waits.
export async function emptyButWaiting(id) {
  const store = new UserStore(id);
  const count = await emptied(store);
  await (count ? store.close() : store.delete());
  return count;
}

async function here() {
  const databases = await indexedDB.databases?.();
  return databases?.map(({ name }) => name) ?? [];
}

// [{id, name, count}] of everybody but `userId` whose entries wait here.
export async function othersHere(userId) {
  const tablet = new TabletStore();
  const people = (await tablet.read(PEOPLE)) ?? {};
  const names = await here();
  const left = {};
  const found = [];
  for (const [id, name] of Object.entries(people)) {
    const isOther = id !== String(userId);
    const count = isOther && names.includes(`charting-${id}`) ? await emptyButWaiting(id) : 0;
    if (count) {
      found.push({ id, name, count });
    }
    if (count || !isOther) {
      left[id] = name;
    }
  }
  await tablet.write(PEOPLE, left);
  await tablet.close();
  return found;
}

function told({ name, count }) {
  const what = count === 1 ? "1 entry" : `${count} entries`;
  return node("div", { class: "flag flag--note banner", role: "note", "data-key": name }, icon("note"),
    node("div", { class: "flag__body" },
      node("p", { class: "flag__title" }, "A colleague’s entries wait on this tablet"),
      node("p", {}, `${what} of `, node("bdi", {}, name), count === 1 ? " is" : " are", " not stored in the clinic yet. They go out when ", node("bdi", {}, name), " signs in here.")));
}

// On the charting screen.
export async function tellOfOthers(user) {
  // Found before the lock takes it out of the page, and brought back with it.
  const place = document.querySelector("[data-others]");
  await rememberPerson(user);
  patch(place, (await othersHere(user.id)).map(told));
}
