/* A Bluetooth scale that speaks the Weight Scale Service 0x181D of the Bluetooth SIG.
 *
 *   decode(view) -> {weightG, stepG} or null when the scale says that it could not weigh; RangeError for what is cut short
 *   connect(bluetooth, {onWeight, onGone}) -> {name, close()}
 *
 * Weight Measurement 0x2A9D (Weight Scale Service 1.0, 3.2; GATT Specification Supplement, "Weight Measurement"): one
 * byte of flags, then an unsigned weight of 16 bits, low byte first; in units of 0.005 kg, or of 0.01 lb when bit 0 is
 * set. 0xFFFF: measurement unsuccessful. Time stamp, user, and body mass index with height may follow (bits 1 to 3);
 * they tell nothing about soap. The service weighs people: 5 g is as fine as it can say.
 */

export const SERVICE = 0x181d;
export const MEASUREMENT = 0x2a9d;
const UNSUCCESSFUL = 0xffff;
const KG_STEP_G = 5;
// The pound is 453.59237 g, exact since 1959 (NIST Handbook 44, appendix C).
const LB_STEP_G = 4.5359237;
const FLAGS = { imperial: 0x01, timeStamp: 0x02, user: 0x04, bodyMass: 0x08 };
const FOLLOWING_BYTES = { timeStamp: 7, user: 1, bodyMass: 4 };

export function decode(view) {
  const flags = view.getUint8(0);
  const needed = Object.entries(FOLLOWING_BYTES).reduce((sum, [name, bytes]) => sum + (flags & FLAGS[name] ? bytes : 0), 3);
  if (view.byteLength < needed) throw new RangeError(`A weight of ${needed} bytes came with ${view.byteLength}.`);
  const count = view.getUint16(1, true);
  if (count === UNSUCCESSFUL) return null;
  const stepG = flags & FLAGS.imperial ? LB_STEP_G : KG_STEP_G;
  return { weightG: count * stepG, stepG };
}

export async function connect(bluetooth, { onWeight, onGone }) {
  const device = await bluetooth.requestDevice({ filters: [{ services: [SERVICE] }] });
  device.addEventListener("gattserverdisconnected", onGone);
  const server = await device.gatt.connect();
  const service = await server.getPrimaryService(SERVICE);
  const measured = await service.getCharacteristic(MEASUREMENT);
  measured.addEventListener("characteristicvaluechanged", ({ target }) => {
    const weight = decode(target.value);
    if (weight) onWeight(weight);
  });
  await measured.startNotifications();
  return { name: device.name ?? "scale", close: () => device.gatt.disconnect() };
}
