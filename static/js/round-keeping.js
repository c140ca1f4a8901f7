/* Weights of a round on their way: kept on the phone at once, sent when the next one is kept, so that undo is one tap.
 *
 *   entryOf(bars, text, {phone, scale, sentStepG, isSure}) -> entry of the outbox
 *   new Keeper(outbox, timer)
 *   keeper.keep(entry) -> kept entry, on the disk
 *   keeper.takeBack(order) -> whether it still was here and is gone now
 *   keeper.letGo()   what is held goes
 */

import { makeEntry } from "./entry.js";

const UNDO_MS = 20_000;
const NAMES = ["happened_at", "note", "bars", "new_bar", "weight_g", "scale", "sent_step_g"];

export function entryOf(bars, text, { phone, scale = "", sentStepG = 0, isSure = false }) {
  const madeAt = new Date().toISOString();
  const fields = [["happened_at", madeAt], ...bars.map((bar) => ["bars", bar.key]), ["weight_g", text]];
  if (scale) fields.push(["scale", scale]);
  if (sentStepG) fields.push(["sent_step_g", String(sentStepG)]);
  if (isSure) fields.push(["kept_anyway", "on"]);
  const { person, units, zone } = phone;
  const words = `Bar ${bars.map((bar) => bar.number).join(" + ")}, ${text} ${units.mass}`;
  const [{ loaf, batch, url }] = bars;
  return makeEntry({ act: "weigh", about: loaf, title: "Weigh", label: batch, words, page: url, person, units, zone, fields, names: NAMES, madeAt });
}

export class Keeper {
  constructor(outbox, timer = globalThis) {
    Object.assign(this, { outbox, timer, order: null });
  }

  async keep(entry) {
    const kept = await this.outbox.keep(entry);
    this.letGo();
    this.order = kept.order;
    this.outbox.held.add(kept.order);
    this.timeout = this.timer.setTimeout(() => this.letGo(), UNDO_MS);
    return kept;
  }

  letGo() {
    this.timer.clearTimeout(this.timeout);
    if (this.order === null) return;
    this.outbox.held.delete(this.order);
    this.order = null;
    this.outbox.flush();
  }

  async takeBack(order) {
    this.outbox.held.add(order);
    if (this.order === order) this.order = null;
    // It may be on its way this very moment: only the end of that tells where it is.
    if (this.outbox.status.state === "sending") await this.outbox.running;
    const isHere = (await this.outbox.list()).some((entry) => entry.order === order);
    if (isHere) await this.outbox.discard(order);
    this.outbox.held.delete(order);
    return isHere;
  }
}
