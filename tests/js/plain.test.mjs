import assert from "node:assert/strict";
import test from "node:test";

import { showPlain } from "../../static/js/plain.js";

/* A window with one part that has words on plain HTTP, and the line for when the network goes. */
function fakeScope({ isSecureContext, onLine }) {
  const scope = Object.assign(new EventTarget(), { isSecureContext, navigator: { onLine } });
  scope.words = [{ hidden: true }];
  scope.stay = { hidden: true };
  scope.document = { querySelectorAll: () => scope.words, querySelector: () => scope.stay };
  scope.turn = (isOn) => {
    scope.navigator.onLine = isOn;
    scope.dispatchEvent(new Event(isOn ? "online" : "offline"));
  };
  return scope;
}

test("where the browser trusts the address, nothing is said, whatever the network does", () => {
  const scope = fakeScope({ isSecureContext: true, onLine: true });
  showPlain(scope);
  scope.turn(false);
  assert.deepEqual([scope.words[0].hidden, scope.stay.hidden], [true, true]);
});

test("plain HTTP says what it lacks, and to stay only while the network is away", () => {
  const scope = fakeScope({ isSecureContext: false, onLine: true });
  showPlain(scope);
  assert.deepEqual([scope.words[0].hidden, scope.stay.hidden], [false, true]);
  scope.turn(false);
  assert.equal(scope.stay.hidden, false);
  scope.turn(true);
  assert.equal(scope.stay.hidden, true);
});

test("a page that was opened while the network was going says it at once", () => {
  const scope = fakeScope({ isSecureContext: false, onLine: false });
  showPlain(scope);
  assert.equal(scope.stay.hidden, false);
});
