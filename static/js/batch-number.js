/* A batch number given without the workshop: with a letter of the person's own, so that two phones never give the same.
 *
 *   offlineNumber("26-014", person, poursWaiting) -> "26-014b"
 *   suggestNumber(form, phone, outbox)   changes the suggestion of a pour's form that comes from the phone's own store
 */

export function offlineNumber(number, person, poursWaiting) {
  const [, year, count] = number.match(/^(\d\d)-(\d+)$/) ?? [];
  if (!year) return number;
  const letter = String.fromCharCode("a".charCodeAt(0) + ((person - 1) % 26));
  return `${year}-${String(Number(count) + poursWaiting).padStart(3, "0")}${letter}`;
}

export async function suggestNumber(form, phone, outbox) {
  const field = form.elements.number;
  if (form.dataset.act !== "pour" || field.value !== field.defaultValue) return;
  const pours = (await outbox.list()).filter((entry) => entry.act === "pour").length;
  if (phone.asOf || pours) field.value = offlineNumber(field.defaultValue, phone.person, pours);
}
