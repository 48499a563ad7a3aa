// The operations that wait: in memory at once, on the disk right after.
//
// A number in the device's order is given provisionally in memory and finally by the database, in one transaction over
// all tabs; nothing is sent before that. Where the disk refuses (full, broken, forbidden) an operation stays in memory,
// is marked `failed`, is sent all the same, and is written as soon as the disk takes it.

import { bySequence, newRecord } from "./operations.js";

// What is kept on the disk of a record.
function stored({ id, op, hint, state, message, conflict }) {
  return { id, op, hint, state, message, conflict };
}

export class Queue {
  // onWritten(records) after the disk took them or refused.
  constructor(tablet, store, onWritten) {
    Object.assign(this, { tablet, store, onWritten, records: new Map(), gone: new Set(), last: 0, writing: null });
    this.acknowledged = new Set();
  }

  get ordered() {
    return [...this.records.values()].sort(bySequence);
  }

  of(session) {
    return this.ordered.filter(({ op }) => op.session === session);
  }

  nextSequence() {
    this.last += 1;
    return this.last;
  }

  // In memory now; those in `gone` leave in the same moment, and on the disk in the same transaction.
  add(records, gone = []) {
    for (const id of gone) {
      this.records.delete(id);
      this.gone.add(id);
    }
    for (const record of records) {
      this.records.set(record.id, record);
    }
    this.write();
  }

  // After a decision: the rows of {op, hint, record} are what waits of their session from now on, in this order.
  replace(rows, gone) {
    const records = rows.map(({ op, hint = null, record }) => {
      const numbered = { ...op, sequence: this.nextSequence() };
      const again = { op: numbered, numbered: false, written: false, tried: false };
      return record ? Object.assign(record, again) : newRecord(numbered, hint);
    });
    this.add(records, gone);
  }

  // Fulfilled when everything is on the disk or known not to be.
  write() {
    this.writing ??= Promise.resolve()
      .then(() => this.writeAll())
      .finally(() => (this.writing = null));
    return this.writing;
  }

  async writeAll() {
    let fresh;
    while ((fresh = this.ordered.filter((record) => !record.written && !record.tried)).length || this.gone.size) {
      const gone = [...this.gone];
      try {
        await this.number(fresh);
        await this.store.putOperations(fresh.map(stored), gone);
        fresh.forEach((record) => Object.assign(record, { written: true, failed: false }));
        gone.forEach((id) => this.gone.delete(id));
      } catch {
        // Told once: it is tried again with every sending, and telling asks for one.
        const news = fresh.filter(({ failed }) => !failed);
        fresh.forEach((record) => Object.assign(record, { failed: true, tried: true, numbered: true }));
        // What is gone in memory and still on the disk does no harm: sent again, it is answered as before.
        if (news.length) {
          this.onWritten(news);
        }
        break;
      }
      this.onWritten(fresh);
    }
  }

  async number(fresh) {
    const open = fresh.filter(({ numbered }) => !numbered);
    if (!fresh.length) {
      return;
    }
    const wished = Math.max(...fresh.map(({ op }) => op.sequence)) + 1 - open.length;
    const first = await this.tablet.allocate(open.length, Math.max(1, wished));
    open.forEach((record, index) => {
      record.op.sequence = first + index;
      record.numbered = true;
    });
    this.last = Math.max(this.last, first + open.length - 1);
    if (open.length) {
      // Those touched meanwhile come after them.
      for (const record of this.ordered.filter(({ numbered }) => !numbered)) {
        record.op.sequence = this.nextSequence();
      }
    }
  }

  // Those the disk refused, once more.
  writeAgain() {
    for (const record of this.records.values()) {
      record.tried = false;
    }
    return this.write();
  }

  // What the disk holds now, other tabs' work included; what this tab has still to write stays as the memory has it.
  take(rows) {
    const own = [...this.records.values()].filter(({ written }) => !written);
    const before = this.records;
    this.records = new Map(own.map((record) => [record.id, record]));
    for (const row of rows) {
      if (!this.acknowledged.has(row.id) && !this.gone.has(row.id) && !this.records.has(row.id)) {
        const known = before.get(row.id) ?? {};
        this.records.set(row.id, Object.assign(known, row, { numbered: true, written: true, failed: false }));
      }
      this.last = Math.max(this.last, row.op.sequence);
    }
  }

  // Out of memory: the server holds it for good.
  acknowledge(ids) {
    for (const id of ids) {
      this.records.delete(id);
      this.acknowledged.add(id);
    }
  }
}
