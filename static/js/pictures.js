/* Several pictures in a row: a camera gives one at a time, so they are gathered, each with what it shows and its bar.
 *
 *   gather(form)             form.pictures from then on:
 *     .told()                [{ fields: {subject, bar}, words }], one for each file of the form, in its order
 *     .dropFirst()           it is kept
 *     .asOne()               back to the plain form, one subject and bar for all: whether that says what each one said
 *   withTold(entry, told)    the entry with one picture's own fields in place of the form's
 */

export function gather(form) {
  form.pictures = new Pictures(form);
}

export function withTold(entry, told) {
  if (!told) return entry;
  const others = entry.fields.filter(([name]) => !(name in told.fields));
  return { ...entry, words: told.words, fields: [...others, ...Object.entries(told.fields)] };
}

class Pictures {
  constructor(form) {
    this.form = form;
    this.input = form.elements.photos;
    this.list = Object.assign(document.createElement("ol"), { className: "pictures", hidden: true });
    this.list.setAttribute("aria-label", "What each one shows");
    this.lines = [];
    this.isOne = false;
    this.input.closest(".field").append(this.list);
    this.input.addEventListener("change", () => this.take([...this.input.files]));
  }

  take(files) {
    for (const file of files.filter(({ size }) => size)) this.lines.push(this.line(file, this.lines.at(-1)));
    this.refresh();
  }

  /* The next picture most likely shows the like of the one before. */
  line(file, before) {
    const item = document.createElement("li");
    const picture = Object.assign(new Image(), { src: URL.createObjectURL(file), alt: "" });
    picture.addEventListener("load", () => URL.revokeObjectURL(picture.src), { once: true });
    const subject = select([...this.form.elements.subject].map((radio) => [radio.value, radio.labels[0].textContent.trim()]));
    subject.value = before?.subject.value ?? this.form.elements.subject.value;
    const bar = select([...this.form.elements.bar.options].map((option) => [option.value, option.text]));
    bar.value = before?.bar.value ?? this.form.elements.bar.value;
    bar.hidden = bar.length < 2;
    const remove = Object.assign(document.createElement("button"), { type: "button", textContent: "Remove" });
    const line = { file, item, picture, subject, bar, remove };
    remove.addEventListener("click", () => this.drop(line));
    item.append(picture, subject, bar, remove);
    return line;
  }

  drop(line) {
    this.lines.splice(this.lines.indexOf(line), 1);
    this.refresh();
    this.input.focus();
  }

  dropFirst() {
    this.lines.shift();
    this.refresh();
  }

  /* The form's own field holds them all: whatever reads it, with or without the outbox, finds them. */
  refresh() {
    const files = new DataTransfer();
    for (const { file } of this.lines) files.items.add(file);
    this.input.files = files.files;
    this.list.replaceChildren(...this.lines.map(({ item }) => item));
    for (const [place, line] of this.lines.entries()) name(line, `Picture ${place + 1}`);
    this.list.hidden = !this.lines.length;
    this.form.classList.toggle("each-own", this.lines.length > 0 && !this.isOne);
  }

  told() {
    if (this.isOne) return [];
    return this.lines.map(({ subject, bar }) => ({
      fields: { subject: subject.value, bar: bar.value },
      words: [subject, bar].filter(({ value }) => value).map((one) => one.selectedOptions[0].text).join(", "),
    }));
  }

  asOne() {
    const [first, ...others] = this.told();
    if (!first) return true;
    this.form.elements.subject.value = first.fields.subject;
    this.form.elements.bar.value = first.fields.bar;
    this.isOne = true;
    this.refresh();
    return others.every(({ words }) => words === first.words);
  }
}

function select(options) {
  const made = document.createElement("select");
  made.append(...options.map(([value, text]) => new Option(text, value)));
  return made;
}

function name({ subject, bar, remove }, words) {
  subject.setAttribute("aria-label", `${words}: what does it show?`);
  bar.setAttribute("aria-label", `${words}: bar`);
  remove.setAttribute("aria-label", `Remove ${words.toLowerCase()}`);
}
