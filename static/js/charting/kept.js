// Photographs taken on this tablet, kept with their bytes until the clinic has them.

import { newKey } from "./ids.js";
import { Away, BadRequest, ask } from "./sync.js";

// A photograph of a megabyte on a slow line; what was touched meanwhile is on the tablet.
const PATIENCE_MS = 60000;

// One that cannot be sent now waits; what a person has to change is said. Signed out is for the whole sending.
function settle(picture, error) {
  if (error instanceof BadRequest && error.code !== "no_session") {
    Object.assign(picture, { state: "refused", message: error.message });
  } else if (error.isToken) {
    Object.assign(picture, { state: "refused", message: "This photograph is another person's to send." });
  } else if (!(error instanceof Away || error instanceof BadRequest)) {
    throw error;
  }
}

export const unsent = (pictures) => pictures.filter(({ state }) => state !== "sent");

// state: "tablet" (waits), "refused" (a person decides), "stored" (the clinic has it, but no snapshot with it has come), and
// "sent" (a snapshot shows it; the bytes stay for the offline view).
export class Kept {
  constructor(store) {
    Object.assign(this, { store, pictures: new Map(), urls: new Map() });
  }

  take(rows) {
    for (const row of rows) {
      const known = this.pictures.get(row.key);
      this.pictures.set(row.key, Object.assign(known ?? {}, row, { written: true, failed: false }));
    }
  }

  add(session, blob, { width, height }, onSaved) {
    const key = newKey();
    const picture = { key, session, blob, width, height, state: "tablet", message: "", taken_at: new Date().toISOString() };
    this.pictures.set(key, picture);
    this.save(picture).then(onSaved);
    return key;
  }

  async save(picture) {
    const { written, failed, ...row } = picture;
    try {
      await this.store.putPicture(row);
      Object.assign(picture, { written: true, failed: false });
    } catch {
      Object.assign(picture, { failed: !written });
    }
  }

  get open() {
    return unsent([...this.pictures.values()]);
  }

  isOpenIn(session) {
    return this.open.some((picture) => picture.session === session);
  }

  // As records of a queue, for the model and for the list of what waits.
  records(session = null) {
    return this.open
      .filter((picture) => session === null || picture.session === session)
      .map((picture) => {
        const { key, width, height, state, message, written, failed, taken_at: madeAt } = picture;
        const data = { key, width, height };
        const op = { id: key, session: picture.session, kind: "picture", made_at: madeAt, sequence: 0, data };
        const waits = state === "stored" ? "tablet" : state;
        return { id: key, op, hint: null, state: waits, message, conflict: null, written, failed };
      });
  }

  url(key) {
    const picture = this.pictures.get(key);
    if (!picture?.blob) {
      return null;
    }
    if (!this.urls.has(key)) {
      this.urls.set(key, URL.createObjectURL(picture.blob));
    }
    return this.urls.get(key);
  }

  // Whether any came to the clinic.
  async send(withToken, leaving) {
    let isAny = false;
    for (const picture of this.open.filter(({ state }) => state === "tablet")) {
      const body = new FormData();
      body.append("session", picture.session);
      body.append("taken_at", picture.taken_at);
      // Only one that was handed over names whose it is.
      if (picture.author) {
        body.append("author", picture.author);
      }
      body.append("image", picture.blob, `${picture.key}.jpg`);
      try {
        await withToken(() =>
          ask(`/charting/pictures/${picture.key}/`, { method: "POST", body, type: "", patience: PATIENCE_MS, leaving }),
        );
        picture.state = "stored";
        isAny = true;
      } catch (error) {
        settle(picture, error);
      }
      await this.save(picture);
    }
    return isAny;
  }

  seen({ pictures }) {
    for (const { key, removed } of pictures) {
      const picture = this.pictures.get(key);
      if (picture && (picture.state !== "sent" || (removed && picture.blob))) {
        picture.state = "sent";
        // A removed photograph leaves the tablet too.
        picture.blob = removed ? null : picture.blob;
        this.save(picture);
      }
    }
  }

  resolve(key, choice, onSettled) {
    const picture = this.pictures.get(key);
    if (picture) {
      Object.assign(picture, { state: choice === "drop" ? "sent" : "tablet", message: "" });
      if (choice === "drop") {
        picture.blob = null;
        this.pictures.delete(key);
      }
      this.save(picture).then(onSettled);
    }
    return [];
  }

  moved(from, to) {
    for (const picture of this.pictures.values()) {
      if (picture.session === from) {
        picture.session = to;
        this.save(picture);
      }
    }
  }

  forget() {
    this.urls.forEach((url) => URL.revokeObjectURL(url));
    this.urls.clear();
    this.pictures.clear();
  }
}
