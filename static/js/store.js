/* What is kept on this phone until the workshop has it: one IndexedDB a person, so that nobody sees or sends what
 * another one typed.
 *
 *   openStore(person) -> Store, or a StoreError with words for the person
 *   store.add(entry, files) -> order      resolves when the transaction is complete: only then is it "kept"
 *   store.all() -> entries, oldest first  (without their files)
 *   store.files(order) -> [{field, name, type, bytes}]
 *   store.change(entry)                   its state, not its files
 *   store.replace(entry, files)           mended; files only when given
 *   store.remove(order)
 *   store.isUsed(key)                     whether an entry ever had this key here
 */

import { openDB } from "../vendor/idb/idb.js";

// The browser answers when the data is on the disk, not when the system was asked to write it.
const ON_DISK = { durability: "strict" };
const PARTS = ["entries", "files", "used"];

export class StoreError extends Error {}

export async function openStore(person, open = openDB) {
  try {
    const database = await open(`curelog-${person}`, 1, {
      upgrade(made) {
        made.createObjectStore("entries", { keyPath: "order", autoIncrement: true });
        made.createObjectStore("files");
        made.createObjectStore("used");
      },
      blocking(_current, _wanted, event) {
        event.target.close();
      },
    });
    return new Store(database);
  } catch (error) {
    throw inWords(error);
  }
}

class Store {
  constructor(database) {
    this.database = database;
  }

  async write(work) {
    try {
      const transaction = this.database.transaction(PARTS, "readwrite", ON_DISK);
      const [result] = await Promise.all([work(...PARTS.map((part) => transaction.objectStore(part))), transaction.done]);
      return result;
    } catch (error) {
      throw inWords(error);
    }
  }

  add(entry, files = []) {
    return this.write(async (entries, stored, used) => {
      const order = await entries.add(entry);
      await Promise.all([files.length && stored.put(files, order), used.put(entry.madeAt, entry.key)]);
      return order;
    });
  }

  all() {
    return this.database.getAll("entries");
  }

  async files(order) {
    return (await this.database.get("files", order)) ?? [];
  }

  /* Another tab may have sent it meanwhile: what is gone is not brought back. */
  change(entry) {
    return this.write(async (entries) => (await entries.getKey(entry.order)) && entries.put(entry));
  }

  replace(entry, files) {
    return this.write((entries, stored, used) =>
      Promise.all([entries.put(entry), files && stored.put(files, entry.order), used.put(entry.madeAt, entry.key)]),
    );
  }

  remove(order) {
    return this.write((entries, stored) => Promise.all([entries.delete(order), stored.delete(order)]));
  }

  async isUsed(key) {
    return (await this.database.getKey("used", key)) !== undefined;
  }
}

export function inWords(error) {
  const words =
    error?.name === "QuotaExceededError"
      ? "The storage of this phone is full: this was not kept. Free some space, then keep it again."
      : "This browser keeps nothing here: a private window, or storage switched off. This was not kept.";
  return new StoreError(words, { cause: error });
}
