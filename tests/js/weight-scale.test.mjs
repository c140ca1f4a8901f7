/* Bytes as the Weight Scale Service 1.0 of the Bluetooth SIG lays them out. Made by hand from its table: no real scale. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { offerScale } from "../../static/js/round-scale.js";
import { connect, decode, MEASUREMENT, SERVICE } from "../../static/js/weight-scale.js";

const view = (...bytes) => new DataView(new Uint8Array(bytes).buffer);
// 13 January 2026, 12:34:56, as the Date Time characteristic 0x2A08 has it.
const STAMP = [0xea, 0x07, 1, 13, 12, 34, 56];

test("kilograms in steps of 5 g, low byte first", () => {
  assert.deepEqual(decode(view(0x00, 0x19, 0x00)), { weightG: 125, stepG: 5 });
  assert.deepEqual(decode(view(0x00, 0xe8, 0x03)), { weightG: 5000, stepG: 5 });
});

test("pounds in steps of a hundredth", () => {
  const { weightG, stepG } = decode(view(0x01, 0x64, 0x00));
  assert.ok(Math.abs(weightG - 453.59237) < 1e-9);
  assert.ok(Math.abs(stepG - 4.5359237) < 1e-9);
});

test("time stamp, user and body mass may follow, in every combination", () => {
  const parts = [
    [0x02, STAMP],
    [0x04, [0xff]],
    [0x08, [0xe1, 0x00, 0xdb, 0x06]],
  ];
  for (let chosen = 0; chosen < 8; chosen += 1) {
    const here = parts.filter((_, place) => chosen & (1 << place));
    const flags = here.reduce((sum, [flag]) => sum | flag, 0);
    const bytes = [flags, 0x19, 0x00, ...here.flatMap(([, tail]) => tail)];
    assert.equal(decode(view(...bytes)).weightG, 125, `flags ${flags}`);
    if (here.length) assert.throws(() => decode(view(...bytes.slice(0, -1))), RangeError, `flags ${flags}, cut short`);
  }
});

test("reserved flags change nothing", () => {
  assert.deepEqual(decode(view(0xf0, 0x19, 0x00)), { weightG: 125, stepG: 5 });
});

test("a measurement that did not succeed is none, in either unit", () => {
  assert.equal(decode(view(0x00, 0xff, 0xff)), null);
  assert.equal(decode(view(0x03, 0xff, 0xff, ...STAMP)), null);
});

test("what is too short to be a weight is an error", () => {
  for (const bytes of [[], [0x00], [0x00, 0x19]]) assert.throws(() => decode(view(...bytes)), RangeError);
});

function standIn() {
  const asked = [];
  const measured = Object.assign(new EventTarget(), { startNotifications: async () => asked.push("start") });
  const service = { getCharacteristic: async (id) => (asked.push(id), measured) };
  const server = { getPrimaryService: async (id) => (asked.push(id), service) };
  const device = Object.assign(new EventTarget(), { name: "Bench scale" });
  device.gatt = { connect: async () => server, disconnect: () => device.dispatchEvent(new Event("gattserverdisconnected")) };
  const bluetooth = { requestDevice: async (options) => (asked.push(options), device) };
  const send = (...bytes) => {
    measured.value = view(...bytes);
    measured.dispatchEvent(new Event("characteristicvaluechanged"));
  };
  return { asked, bluetooth, send };
}

test("connecting asks for the service and its measurement alone, and passes weights on", async () => {
  const { asked, bluetooth, send } = standIn();
  const weights = [];
  let gone = 0;
  const held = await connect(bluetooth, { onWeight: (weight) => weights.push(weight.weightG), onGone: () => (gone += 1) });
  assert.deepEqual(asked, [{ filters: [{ services: [SERVICE] }] }, SERVICE, MEASUREMENT, "start"]);
  send(0x00, 0x19, 0x00);
  send(0x00, 0xff, 0xff);
  assert.deepEqual(weights, [125]);
  held.close();
  assert.deepEqual([held.name, gone], ["Bench scale", 1]);
});

function button() {
  return Object.assign(new EventTarget(), { hidden: true, textContent: "Connect scale" });
}
const press = async (place) => {
  place.dispatchEvent(new Event("click"));
  await new Promise((resolve) => setTimeout(resolve));
};

test("offered only where the browser can, and says what went wrong", async () => {
  const absent = button();
  offerScale(absent, {}, { navigator: {} });
  assert.equal(absent.hidden, true);
  const said = [];
  const failing = (name) => ({ navigator: { bluetooth: { requestDevice: async () => Promise.reject(Object.assign(new Error("out of reach"), { name })) } } });
  for (const name of ["NotFoundError", "NetworkError"]) {
    const place = button();
    offerScale(place, { say: (words) => said.push(words) }, failing(name));
    assert.equal(place.hidden, false);
    await press(place);
  }
  assert.deepEqual(said, ["The scale did not answer: out of reach"]);
});
