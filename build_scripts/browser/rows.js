// A table among the fields: rows are typed, added, copied, moved, removed, pasted, opened and saved here. live.js fetches
// this on pages that have one, and knows such a field by its text alone, the value of the textarea in it
// (calculators/forms/rows.py says how it is read). What changes here ends in that value, with an event "input". live.js
// says "sl-set" to the textarea when it has set the value itself, and "sl-mark" what is wrong, as [row, column] pairs.
(() => {
  "use strict";

  // In signs, as in rows.py.
  const LONGEST = 20_000;
  const TOO_LONG = `Nothing is changed: that is more than the ${LONGEST} signs that a table may have.`;

  const QUOTED = ' *"(?<quoted>(?:[^"]|"")*)" *';
  const CELLS = new Map(
    [..."\t;,"].map((sign) => [sign, new RegExp(`(?:${QUOTED}|(?<bare>[^${sign}]*))(?<more>${sign}|$)`, "y")]),
  );
  const QUOTED_CELL = new RegExp(`(?<before>^|[\\t;,])${QUOTED}(?=$|[\\t;,])`, "g");
  // As spreadsheets write a cell of several lines.
  const LONG_CELL = /(?<=^|[\t;,\r\n]) *"(?:[^"]|"")*" *(?=$|[\t;,\r\n])/g;

  class Rows {
    constructor(holder) {
      this.holder = holder;
      this.text = holder.querySelector("textarea");
      this.table = holder.querySelector("table");
      [this.pattern, this.body] = this.table.tBodies;
      this.tools = holder.querySelector(".sl-table-acts");
      this.said = holder.querySelector(".sl-said");
      this.undo = this.tools.querySelector('[data-row="undo"]');
      this.before = null; // the text before the last change that took something away
      this.columns = [...this.pattern.rows[0].querySelectorAll("[data-column]")].map((control) => ({
        name: control.dataset.column,
        label: control.dataset.label,
        options: [...(control.options ?? [])].map(({ value }) => value),
      }));
      this.names = new Map(this.columns.flatMap(({ name, label }, index) => [name, label].map((word) => [fold(word), index])));
      this.article = this.read(this.text.defaultValue);
      this.body.replaceChildren();
      this.tools.hidden = false;
      this.draw();
      holder.addEventListener("input", ({ target }) => {
        if (target === this.text) return this.draw();
        this.keep(null, "");
        this.tell();
      });
      this.text.addEventListener("sl-set", () => {
        this.keep(null, "");
        this.draw();
      });
      this.text.addEventListener("sl-mark", ({ detail }) => this.mark(detail));
      holder.addEventListener("click", ({ target }) => this.press(target.closest("button[data-row]")));
      holder.addEventListener("paste", (event) => this.paste(event));
    }

    controls(row) {
      return [...row.querySelectorAll("[data-column]")];
    }

    cells() {
      return [...this.body.rows].map((row) => this.controls(row).map(({ value }) => value));
    }

    // The text falls into rows of as many cells as there are columns, or this is null.
    read(text) {
      const { rows, order } = this.split(text) ?? {};
      if (!rows || order.includes(undefined) || rows.some((cells) => cells.length > order.length)) return null;
      return rows.map((cells) => this.columns.map((_, index) => this.settle(index, cells[order.indexOf(index)] ?? "")));
    }

    split(text) {
      const lines = text.split(/\r\n|\r|\n/).filter((line) => line.trim() && !line.trimStart().startsWith("#"));
      const bare = lines.map((line) => line.replace(QUOTED_CELL, "$<before>"));
      const sign = [..."\t;"].find((one) => bare.some((line) => line.includes(one))) ?? ",";
      const rows = lines.map((line) => split_line(line, CELLS.get(sign)));
      if (rows.includes(null)) return null;
      const headed = Boolean(rows.length) && this.is_heading(rows[0]);
      const order = headed ? rows.shift().map((cell) => this.names.get(fold(cell))) : [...this.columns.keys()];
      return new Set(order).size < order.length ? null : { rows, order, headed, sign };
    }

    is_heading(cells) {
      const named = cells.filter((cell) => this.names.has(fold(cell))).length;
      return named > cells.filter(Boolean).length - named;
    }

    write(rows, end = "\n") {
      const headed = rows.length && this.is_heading(rows[0]) ? [this.labels(), ...rows] : rows;
      return headed.map(write_line).join(end);
    }

    labels() {
      return this.columns.map(({ label }) => label);
    }

    // A choice is the same in other letters.
    settle(index, text) {
      return this.columns[index].options.find((option) => fold(option) === fold(text)) ?? text;
    }

    draw() {
      const rows = this.read(this.text.value);
      this.table.hidden = !rows;
      for (const button of this.tools.querySelectorAll('[data-row="add"], [data-row="save"]')) button.hidden = !rows;
      if (!rows) {
        // Nobody's text is cut to fit: it is mended where it stands.
        this.text.closest("details").open = true;
        return;
      }
      if (same(rows, this.cells())) return;
      rows.forEach((cells, index) => this.fill(this.body.rows[index] ?? this.body.appendChild(this.make()), cells));
      while (this.body.rows.length > rows.length) this.body.lastElementChild.remove();
      this.number();
    }

    make() {
      const row = this.pattern.rows[0].cloneNode(true);
      for (const control of this.controls(row)) control.readOnly = control.disabled = false;
      return row;
    }

    fill(row, cells) {
      this.controls(row).forEach((control, index) => put(control, cells[index]));
    }

    number() {
      [...this.body.rows].forEach((row, index) => {
        const number = index + 1;
        row.cells[0].textContent = number;
        for (const control of this.controls(row)) control.ariaLabel = `${control.dataset.label}, row ${number}`;
        for (const button of row.querySelectorAll("button")) button.ariaLabel = button.dataset.says.replace("#", number);
      });
    }

    tell() {
      const rows = this.cells();
      this.text.value = this.article && same(rows, this.article) ? this.text.defaultValue : this.write(rows);
    }

    change(words, before = null) {
      this.number();
      this.tell();
      this.keep(before, words);
      this.text.dispatchEvent(new Event("input", { bubbles: true }));
    }

    keep(before, words) {
      this.before = before;
      this.undo.hidden = before === null;
      if (this.said.textContent !== words) this.said.textContent = words;
    }

    mark(pairs) {
      // Refused as a whole, it is mended as a text.
      if (pairs?.length === 0 && this.body.rows.length) this.text.closest("details").open = true;
      const wrong = new Set((Array.isArray(pairs) ? pairs : []).map((pair) => `${pair}`));
      [...this.body.rows].forEach((row, index) => {
        for (const control of this.controls(row)) {
          const marked = [control.dataset.column, ""].some((name) => wrong.has(`${index + 1},${name}`));
          if (marked) control.setAttribute("aria-invalid", "true");
          else control.removeAttribute("aria-invalid");
        }
      });
    }

    press(button) {
      if (!button) return;
      const row = button.closest("tbody tr");
      const number = row && row.sectionRowIndex + 1;
      const before = this.text.value;
      const what = button.dataset.row;
      if (what === "add" || what === "copy") {
        const made = this.make();
        if (row) this.fill(made, this.controls(row).map(({ value }) => value));
        if (row) row.after(made);
        else this.body.append(made);
        this.change(row ? `Row ${number} is copied.` : `Row ${this.body.rows.length} is added.`);
        const [first] = this.controls(made);
        first.focus();
        first.select?.();
      } else if (what === "up" || what === "down") {
        const other = what === "up" ? row.previousElementSibling : row.nextElementSibling;
        if (!other) return;
        if (what === "up") other.before(row);
        else other.after(row);
        this.change(`Row ${number} is row ${row.sectionRowIndex + 1} now.`);
        button.focus();
      } else if (what === "remove") {
        const next = row.nextElementSibling ?? row.previousElementSibling;
        row.remove();
        this.change(`Row ${number} is removed.`, before);
        (next ?? this.tools).querySelector('[data-row="remove"], [data-row="add"]').focus();
      } else if (what === "undo") {
        this.text.value = this.before;
        this.draw();
        this.change("It is as it was.");
      } else if (what === "save") this.save();
      else if (what === "open") this.open();
    }

    paste(event) {
      const row = event.target.closest("tbody tr");
      if (!row) return; // into the text
      const table = this.split(join_lines(event.clipboardData.getData("text/plain")));
      const spread = table && (table.rows.length > 1 || table.headed || table.sign === "\t");
      // A line for a whole row, or else a text for the one cell.
      const whole = this.columns.length > 1 && table?.rows[0]?.length === this.columns.length;
      if (!spread && !whole) return;
      event.preventDefault();
      const first = table.headed ? 0 : this.controls(row).indexOf(event.target);
      const width = Math.max(table.headed ? table.order.length : 1, ...table.rows.map((cells) => cells.length));
      const order = table.headed ? table.order : [...this.columns.keys()].slice(first);
      if (width > order.length || order.includes(undefined)) {
        const why = order.includes(undefined) ? "a heading names no column" : `of ${width} columns ${order.length} have room here`;
        return this.keep(null, `Nothing is pasted: ${why}.`);
      }
      const rows = this.cells();
      table.rows.forEach((cells, index) => {
        const target = (rows[row.sectionRowIndex + index] ??= this.columns.map(() => ""));
        for (let column = 0; column < width; column++) target[order[column]] = this.settle(order[column], cells[column] ?? "");
      });
      this.replace(this.write(rows), `${count(table.rows.length)} pasted.`);
    }

    replace(text, words) {
      if (text.length > LONGEST) return this.keep(null, TOO_LONG);
      const before = this.text.value;
      this.text.value = text;
      this.draw();
      if (this.table.hidden) {
        this.keep(before, words);
        this.text.dispatchEvent(new Event("input", { bubbles: true }));
      } else this.change(words, before);
    }

    save() {
      const link = document.createElement("a");
      // With a mark at its head by which spreadsheets know the letters.
      const text = `\ufeff${[this.labels(), ...this.cells()].map(write_line).join("\r\n")}\r\n`;
      link.href = URL.createObjectURL(new Blob([text], { type: "text/csv" }));
      link.download = `${this.holder.dataset.field}.csv`;
      link.click();
      setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
      this.keep(null, `Saved as ${link.download}.`);
    }

    open() {
      const chooser = document.createElement("input");
      chooser.type = "file";
      chooser.accept = ".csv,.tsv,.txt,text/csv,text/plain";
      chooser.onchange = async () => {
        const [file] = chooser.files;
        if (!file) return;
        // Four bytes a sign at most.
        if (file.size > 4 * LONGEST) return this.keep(null, TOO_LONG);
        try {
          this.replace(join_lines(decode(await file.arrayBuffer())).trimEnd(), `${file.name} is opened.`);
        } catch (error) {
          this.keep(null, `${file.name} could not be read (${error.message}).`);
        }
      };
      chooser.click();
    }
  }

  function split_line(line, pattern) {
    const cells = [];
    pattern.lastIndex = 0;
    for (let more = true; more; ) {
      const { quoted, bare, more: sign } = pattern.exec(line).groups;
      const cell = quoted?.replaceAll('""', '"') ?? bare.trim();
      if (quoted === undefined && cell.startsWith('"')) return null;
      cells.push(cell);
      more = Boolean(sign);
    }
    while (cells.length > 1 && !cells.at(-1)) cells.pop();
    return cells;
  }

  function write_line(cells) {
    const last = cells.findLastIndex(Boolean);
    return last < 0 ? '""' : cells.slice(0, last + 1).map(write_cell).join(",");
  }

  function write_cell(cell) {
    return cell !== cell.trim() || /^#|[\t;,"]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell;
  }

  function join_lines(text) {
    return text.replace(LONG_CELL, (cell) => cell.replace(/[\r\n]+/g, " "));
  }

  // Some spreadsheets still save in the letters of western Europe.
  function decode(bytes) {
    try {
      return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
    } catch {
      return new TextDecoder("windows-1252").decode(bytes);
    }
  }

  // A choice that does not exist is shown all the same, so that it can be mended.
  function put(control, text) {
    if (control.value === text) return;
    if (control.options && ![...control.options].some(({ value }) => value === text)) control.add(new Option(text));
    control.value = text;
  }

  function fold(words) {
    return words.trim().toLowerCase().replace(/\s+/g, " ");
  }

  function same(one, other) {
    return JSON.stringify(one) === JSON.stringify(other);
  }

  function count(rows) {
    return rows === 1 ? "1 row is" : `${rows} rows are`;
  }

  self.handbookRows = (holder) => new Rows(holder);
})();
