/* Stand-ins for the phone's store and for time. */

export class FakeStore {
  constructor() {
    this.entries = new Map();
    this.pictures = new Map();
    this.used = new Set();
    this.next = 1;
    this.failing = null;
  }

  check() {
    if (this.failing) throw this.failing;
  }

  async add(entry, files = []) {
    this.check();
    const order = this.next++;
    this.entries.set(order, structuredClone({ ...entry, order }));
    this.pictures.set(order, files);
    this.used.add(entry.key);
    return order;
  }

  async all() {
    this.check();
    return [...this.entries.values()].map((entry) => structuredClone(entry));
  }

  async files(order) {
    return this.pictures.get(order) ?? [];
  }

  async change(entry) {
    this.check();
    if (this.entries.has(entry.order)) this.entries.set(entry.order, structuredClone(entry));
  }

  async replace(entry, files) {
    this.check();
    this.entries.set(entry.order, structuredClone(entry));
    if (files) this.pictures.set(entry.order, files);
  }

  async remove(order) {
    this.check();
    this.entries.delete(order);
  }

  async isUsed(key) {
    return this.used.has(key);
  }
}

/* Timers that run when the test says so. */
export class FakeTimer {
  constructor() {
    this.waiting = new Map();
    this.next = 1;
    this.setTimeout = (work, ms) => {
      this.waiting.set(this.next, { work, ms });
      return this.next++;
    };
    this.clearTimeout = (id) => this.waiting.delete(id);
  }

  get delays() {
    return [...this.waiting.values()].map(({ ms }) => ms);
  }

  async ring() {
    const due = [...this.waiting.values()];
    this.waiting.clear();
    for (const { work } of due) await work();
  }
}

export class FakeSender {
  constructor() {
    this.sent = [];
    this.greeting = { kind: "ready", person: 1, clockOffS: 0 };
    this.answer = () => ({ kind: "kept", words: "", remarks: [] });
  }

  async greet() {
    return this.greeting;
  }

  async send(entry, files, ask) {
    this.sent.push({ entry, files, ask });
    return this.answer(entry, this.sent.length);
  }
}

let count = 0;

export function entryFor(about, more = {}) {
  count += 1;
  const fields = [["happened_at", "2026-01-12T08:00:00.000Z"]];
  return { key: `key-${count}`, act: "note", about, fields, moment: "happened_at", madeAt: "2026-01-12T08:00:00.000Z", ...more };
}
