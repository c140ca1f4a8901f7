/* One entry to the workshop, and what its answer means.
 *
 *   new Sender({ url, token, fetch }): url of /sync/, token() read at the moment of sending, never kept
 *   sender.greet() -> {kind: "ready", person, clockOffS} or a verdict
 *   sender.send(entry, files, ask) -> verdict; ask: the person stands before the form and can be asked
 *
 * Verdicts: kept {words, remarks, next (a page)} | refused {why} | questions {why} | clash {why} | sign-in | not-yours
 *           | later {seconds?, alone, words?}: to be tried again; alone: the fault is this entry's, others may go.
 */

const GREETING_MS = 8_000;
const ENTRY_MS = 20_000;
// Slower than this a connection counts as stalled.
const BYTES_PER_MS = 5;

export class Sender {
  constructor({ url, token, fetch = globalThis.fetch.bind(globalThis) }) {
    Object.assign(this, { url, token, fetch });
  }

  async greet() {
    const now = encodeURIComponent(new Date().toISOString());
    const answer = await this.ask(`${this.url}?sent_at=${now}`, {}, GREETING_MS);
    if (answer.status === 200 && Number.isInteger(answer.body?.person)) {
      return { kind: "ready", person: answer.body.person, clockOffS: answer.body.clock_off_s ?? 0 };
    }
    return judge(answer, null);
  }

  async send(entry, files, ask = false) {
    const body = bodyOf(entry, files, ask);
    const bytes = files.reduce((sum, file) => sum + file.bytes.byteLength, 0);
    const options = { method: "POST", body, headers: { "X-CSRFToken": this.token() } };
    return judge(await this.ask(this.url, options, ENTRY_MS + bytes / BYTES_PER_MS), entry.key);
  }

  /* {status, body, retryAfterS}; status 0 when nothing came, body null when it is not whole JSON. */
  async ask(url, options, timeoutMs) {
    const abort = new AbortController();
    const timer = setTimeout(() => abort.abort(), timeoutMs);
    try {
      const common = { credentials: "same-origin", redirect: "error", cache: "no-store", signal: abort.signal };
      const response = await this.fetch(url, { ...common, ...options });
      const retryAfterS = Number.parseInt(response.headers.get("Retry-After"), 10) || null;
      return { status: response.status, retryAfterS, body: await response.json().catch(() => null) };
    } catch {
      return { status: 0, retryAfterS: null, body: null };
    } finally {
      clearTimeout(timer);
    }
  }
}

export function bodyOf(entry, files, ask) {
  const body = new FormData();
  body.append("entry", JSON.stringify(told(entry, files, ask)));
  for (const file of files) body.append("file", new Blob([file.bytes], { type: file.type }), file.name);
  return body;
}

function told(entry, files, ask) {
  const { key, act, about, corrects, person, fields, names, units, zone, madeAt } = entry;
  return {
    key,
    act,
    about,
    corrects,
    person,
    fields,
    names,
    units,
    zone,
    made_at: madeAt,
    sent_at: new Date().toISOString(),
    ask,
    files: files.map((file) => ({ field: file.field, name: file.name, size: file.bytes.byteLength })),
  };
}

/* An answer counts only with the entry's own key in it: the login page of somebody's wifi says 200 too. */
export function judge({ status, body, retryAfterS }, key) {
  const isOurs = body !== null && key !== null && body.key === key;
  if (isOurs && (status === 201 || status === 200)) {
    return { kind: "kept", words: body.kept ?? "", remarks: body.remarks ?? [], next: body.next };
  }
  if (isOurs && status === 422) {
    return body.questions ? { kind: "questions", why: body.questions } : { kind: "refused", why: body.errors };
  }
  if (isOurs && status === 409) return { kind: "clash", why: { "": [body.error] } };
  if (isOurs && status === 403) return { kind: "not-yours" };
  if (status === 401 || status === 403) return { kind: "sign-in" };
  const alone = status === 400 || status === 404 || status === 500;
  return { kind: "later", alone, seconds: retryAfterS, words: isOurs ? body.error : undefined };
}
