// A sheet, written on. What is typed is held against numbers that the tool put into the
// page, kept on this device, and set out as YAML. Nothing is sent; nothing of a brew is computed.
(function () {
  "use strict";
  var data = JSON.parse(document.getElementById("written").textContent);
  var prefix = ["reportgen", data.batch, data.plan, data.copy, ""].join("|");
  var kept = {}; // what was written, by the id of its blank; each part of it a text
  var fields = {};
  var inputs = {}; // by id and part
  var shows = []; // what is set again after a change
  var keeps = canKeep();
  var erased = null;
  data.fields.forEach(function (field) { fields[field.id] = field; });

  // Keeping ---------------------------------------------------------------------------------

  function canKeep() {
    try {
      localStorage.setItem(prefix + "try", "1");
      var found = localStorage.getItem(prefix + "try") === "1";
      localStorage.removeItem(prefix + "try");
      return found;
    } catch (error) { return false; }
  }

  // Each blank is kept by itself, so that two windows do not undo each other.
  function keep(id) {
    if (!keeps) return;
    try {
      if (kept[id]) localStorage.setItem(prefix + id, JSON.stringify(kept[id]));
      else localStorage.removeItem(prefix + id);
    } catch (error) { keeps = false; }
  }

  function sound(id, entry) {
    var known = fields[id] || /^(tick|done)\./.test(id) || id === "me";
    if (!known || !entry || typeof entry !== "object") return false;
    return (Array.isArray(entry) ? entry : [entry]).every(function (one) {
      return one && typeof one === "object" && Object.keys(one).every(function (part) {
        return typeof one[part] === "string";
      });
    }) && Array.isArray(entry) === Boolean(fields[id] && fields[id].form === "list");
  }

  function takeUp(id, text) {
    try {
      var entry = JSON.parse(text);
      if (sound(id, entry)) kept[id] = entry;
    } catch (error) { /* what is damaged is left where it is */ }
  }

  function readKept() {
    if (!keeps) return;
    for (var n = 0; n < localStorage.length; n++) {
      var key = localStorage.key(n);
      if (key.indexOf(prefix) === 0) takeUp(key.slice(prefix.length), localStorage.getItem(key));
    }
  }

  function part(id, name) { return (kept[id] && kept[id][name]) || ""; }

  // A first entry takes the day, the time and the initials along.
  var FIRST = { reading: "read", weighed: "amount", log: "read" };
  function set(id, name, value) {
    var field = fields[id], main = field && FIRST[field.form];
    var isNew = name === main && value.trim() && !part(id, name);
    var entry = kept[id] || {};
    if (value.trim()) entry[name] = value; else delete entry[name];
    if (isNew && part("me", "by") && !entry.by) entry.by = part("me", "by");
    if (isNew && stamps() && !entry.at) entry.at = clock();
    if (isNew && field.form === "log" && !entry.date) entry.date = field.date || today();
    if (Object.keys(entry).length) kept[id] = entry; else delete kept[id];
    keep(id);
    if (field && value.trim() && DAY && id !== DAY && !part(DAY, "day")) set(DAY, "day", today());
    refresh(id);
  }

  function refresh(id) {
    Object.keys(inputs).forEach(function (key) {
      var at = key.lastIndexOf("/"), found = inputs[key];
      if (id && key.slice(0, at) !== id) return;
      var value = part(key.slice(0, at), key.slice(at + 1));
      if (found.type === "checkbox") found.checked = value === "yes";
      else if (found.value !== value && found !== document.activeElement) found.value = value;
    });
    shows.forEach(function (show) { if (!id || !show.id || show.id === id) show(); });
  }

  // The day and the clock -------------------------------------------------------------------

  var DAY = data.day; // the field of the day, where the sheet is of one day
  function two(number) { return (number < 10 ? "0" : "") + number; }
  function clock(at) {
    var now = at || new Date();
    return two(now.getHours()) + ":" + two(now.getMinutes());
  }
  function today() {
    var now = new Date();
    return now.getFullYear() + "-" + two(now.getMonth() + 1) + "-" + two(now.getDate());
  }
  // What is typed on another day, from paper, gets no time.
  function stamps() {
    return part("me", "late") !== "yes" && [today(), ""].indexOf(part(DAY, "day")) >= 0;
  }
  function due(timer) {
    var from = part(timer.from, "at"), day = part(DAY, "day");
    if (!from || !day) return null;
    var start = new Date(day + "T" + from);
    return isNaN(start) ? null : new Date(start.getTime() + timer.after * 60000);
  }
  function isOver(timer) {
    return ["done." + timer.id, timer.of, timer.until].some(function (id) { return part(id, "at"); });
  }

  // What was typed --------------------------------------------------------------------------

  var NUMBER = /^-?(\d+(\.\d*)?|\.\d+)$/;
  var WORDS = /^(NOT RECORDED|not done because .+|-?\d+(\.\d+)? ?°?[A-Za-z][A-Za-z .\/]*)$/;

  // As a careful typist writes it: a point for a comma, 1.042 for 1042, the unit said once.
  function typed(field, text) {
    text = text.trim().replace(/^(-?\d*),(\d+)/, "$1.$2").replace(/^\u2212/, "-");
    var unit = field.unit.trim();
    if (unit && text.slice(-unit.length).toLowerCase() === unit.toLowerCase()) {
      var bare = text.slice(0, -unit.length).replace(/[\s°]+$/, "");
      if (NUMBER.test(bare)) text = bare;
    }
    if (field.gravity && /^(1[01]|9[89])\d{2,3}$/.test(text)) {
      text = text[0] === "1" ? "1." + text.slice(1) : "0." + text;
    }
    return text;
  }

  function sampleOf(entry) {
    return typed({ unit: data.sample.unit }, entry.sample || "");
  }

  function isReadable(field, entry) {
    var text = typed(field, entry.read || entry.amount || "");
    var sample = entry.sample ? NUMBER.test(sampleOf(entry)) : true;
    if (field.form === "log" && !(entry.date && entry.at)) return false;
    return (NUMBER.test(text) || WORDS.test(text)) && sample;
  }

  // Verdicts: comparisons with numbers of the tool ----------------------------------------------

  function between(nodes, value) {
    var n = 0;
    while (n < nodes.length - 2 && value > nodes[n + 1]) n++;
    return { n: n, share: (value - nodes[n]) / (nodes[n + 1] - nodes[n]) };
  }
  function along(line, place) {
    return line[place.n] + (line[place.n + 1] - line[place.n]) * place.share;
  }

  // Return what a reading stands for by its table, the edges that decide about it, and whether a
  // correction could be made.
  function standsFor(table, read, sample, bare, hot) {
    var place = between(table.reads, read), temps = table.temps, last = temps[temps.length - 1];
    if (sample === null || !temps.length || (table.from !== undefined && sample <= table.from)) {
      return { value: along(table.bare, place), edges: bare, made: true };
    }
    if (sample > last || (table.from === undefined && sample < temps[0])) {
      return { value: read + table.plain, edges: bare, made: false };
    }
    var row = between(temps, sample);
    var ends = [along(table.at[row.n], place), along(table.at[row.n + 1], place)];
    return { value: along(ends, { n: 0, share: row.share }), made: true,
      edges: bare && bare.map(function (edge, n) {
        return edge === null ? null
          : along([hot[row.n][n], hot[row.n + 1][n]], { n: 0, share: row.share });
      }) };
  }

  function withOf(field, entry) {
    return field.with.find(function (one) { return one.name === entry.with; }) || field.with[0];
  }

  function judge(field, entry) {
    var text = typed(field, entry.read || "");
    if (!text) return null;
    if (!isReadable(field, entry)) {
      var wrong = NUMBER.test(text) || WORDS.test(text) ? entry.sample : entry.read;
      return { bad: true, words: "Not a number: " + wrong + ". Type digits and a point." };
    }
    if (!NUMBER.test(text)) return { words: "Kept as written. No verdict here." };
    var how = withOf(field, entry), table = data.tables[how.table];
    var sample = entry.sample ? Number(sampleOf(entry)) : null, read = Number(text);
    var at = how.edges && Math.min((text.split(".")[1] || "").length, how.edges.length - 1);
    var bare = how.edges && how.edges[at];
    var found = table ? standsFor(table, read, sample, bare, how.hot && how.hot[at])
      : { value: read, edges: bare, made: true };
    var made = { value: found.value, words: "", verdict: "" };
    if (how.edges) {
      made.verdict = verdict(found.value, found.edges);
      var other = field.under && kept[field.under] && judge(fields[field.under], kept[field.under]);
      if (other && found.value - how.u > other.value + other.u) made.verdict = "OFF PLAN";
      made.u = how.u;
    }
    if (Math.abs(found.value - read) > 1e-9) {
      made.words = "Corrected " + found.value.toFixed(field.decimals) + " " + field.label;
    }
    if (!found.made) made.words = "Not corrected: its sample is outside the table";
    if (field.sample && sample === null) made.words = "As read: type the temperature of the sample";
    if (made.verdict === "TOO CLOSE TO CALL") {
      made.words += (made.words ? ". " : "") + (field.critical
        ? "This limit is critical: not clearly kept" : "Read once more before you act");
    }
    return made;
  }

  function verdict(value, edges) {
    if (edges[0] !== null && value < edges[0]) return "OFF PLAN";
    if (edges[3] !== null && value > edges[3]) return "OFF PLAN";
    if (edges[1] !== null && value < edges[1]) return "TOO CLOSE TO CALL";
    if (edges[2] !== null && value > edges[2]) return "TOO CLOSE TO CALL";
    return "ON PLAN";
  }

  // The record ------------------------------------------------------------------------------

  function scalar(text, flow) {
    text = text.trim();
    var plain = flow ? /^[A-Za-z0-9][\w .()%\/°+-]*$/ : /^[A-Za-z0-9][\w .,'()%\/°+-]*$/;
    var moment = /^(-\d|(\d{4}-\d\d-\d\d )?\d\d:\d\d$)/;
    return plain.test(text) || moment.test(text) ? text : JSON.stringify(text);
  }
  function map(pairs) {
    return "{" + pairs.filter(function (pair) { return pair[1]; }).map(function (pair) {
      return pair[0] + ": " + scalar(pair[1], true);
    }).join(", ") + "}";
  }
  function quantity(field, text) {
    text = typed(field, text);
    return NUMBER.test(text) ? text + field.unit : text;
  }

  function readingText(field, entry) {
    var read = quantity(field, entry.read);
    var more = [
      ["sample", entry.sample ? sampleOf(entry) + data.sample.unit : ""], ["at", entry.at],
      ["instrument", entry.with], ["by", entry.by]
    ].filter(function (pair) { return pair[1]; });
    return more.length && !/^not/i.test(read) ? map([["read", read]].concat(more)) : scalar(read);
  }

  // Return the lines of a blank below its key, or the text beside it; nothing when it is empty.
  function said(field) {
    var entry = kept[field.id];
    if (field.form === "people") {
      var people = initials();
      return people.length ? "[" + people.join(", ") + "]" : "";
    }
    if (!entry) return "";
    if (field.form === "day") return entry.day || "";
    if (field.form === "clock") return entry.at || "";
    if (field.form === "words" || field.form === "value") {
      return entry.text ? scalar(field.unit ? quantity(field, entry.text) : entry.text) : "";
    }
    if (field.form === "log") {
      if (!entry.read || !isReadable(field, entry)) return "";
      return [map([
        ["at", entry.date + " " + entry.at],
        ["temperature", entry.sample ? sampleOf(entry) + data.sample.unit : ""],
        ["gravity", typed(field, entry.read)], ["by", entry.by]
      ])];
    }
    if (field.form === "reading") {
      return entry.read && isReadable(field, entry) ? readingText(field, entry) : "";
    }
    if (field.form === "weighed") {
      if (!entry.amount || !isReadable(field, entry)) return "";
      return [map([
        ["item", field.item], ["amount", quantity(field, entry.amount)], ["lot", entry.lot],
        ["at", entry.at], ["by", entry.by], ["added_at", addedAt(field.id)]
      ])];
    }
    if (field.form === "list") {
      return entry.filter(function (one) { return !one.gone; }).map(function (one) {
        return map(field.keys.map(function (key) { return [key, one[key]]; }));
      });
    }
    return "";
  }

  // The record asks when something went in where that was not at its planned time.
  function addedAt(weighed) {
    var field = data.fields.find(function (one) { return one.weighed === weighed; });
    var timer = field && data.timers.find(function (one) { return one.of === field.id; });
    var at = field ? part(field.id, "at") : "", planned = timer && due(timer);
    return at && planned && clock(planned) !== at ? at : "";
  }

  function initials() {
    var found = [];
    Object.keys(kept).forEach(function (id) {
      [].concat(kept[id]).forEach(function (one) {
        if (one.by && !one.gone && found.indexOf(one.by) < 0) found.push(one.by);
      });
    });
    return found.sort();
  }

  // What one taster found in one glass.
  function session() {
    var marks = data.fields.filter(function (field) { return part(field.id, "mark"); });
    if (!marks.length) return "";
    var lines = ["tasting:", "  - date: " + (part(DAY, "day") || today())];
    if (part("glass", "text")) lines.push("    blind_code: " + scalar(part("glass", "text")));
    lines.push("    marks:", "      - by: " + (part("me", "by") || "NOT RECORDED"),
      "        scores: {" + marks.map(function (field) {
        return field.word + ": " + part(field.id, "mark");
      }).join(", ") + "}");
    if (part("another", "text")) lines.push("        another: " + part("another", "text"));
    if (part("found", "text")) lines.push("        remarks: " + scalar(part("found", "text")));
    return lines.join("\n") + "\n";
  }

  function yaml() {
    if (data.tasting) return session();
    var lines = data.issued ? ["issued:", "  plan: " + data.plan, "  numbers: " + data.numbers,
      "  copy: " + data.copy] : [];
    var open = {}, count = 0;
    data.fields.forEach(function (field) {
      var text = said(field), steps = field.id.split(".");
      if (!text.length) return;
      if (field.form !== "day" && field.form !== "people") count++;
      if (field.form === "weighed" || field.form === "log") steps.pop();
      var ends = Array.isArray(text) ? steps.length : steps.length - 1;
      for (var n = 1; n <= ends; n++) {
        var above = steps.slice(0, n).join(".");
        if (!open[above]) lines.push(Array(n).join("  ") + steps[n - 1] + ":");
        open[above] = true;
      }
      var margin = Array(steps.length).join("  ");
      if (Array.isArray(text)) {
        text.forEach(function (line) { lines.push(margin + "  - " + line); });
      } else lines.push(margin + steps[steps.length - 1] + ": " + text);
    });
    return count ? lines.join("\n") + "\n" : "";
  }

  // Making the page ---------------------------------------------------------------------------

  function make(tag, attributes) {
    var element = document.createElement(tag);
    Object.keys(attributes || {}).forEach(function (name) {
      if (name === "text") element.textContent = attributes[name];
      else if (name.slice(0, 2) === "on") element.addEventListener(name.slice(2), attributes[name]);
      else element.setAttribute(name, attributes[name]);
    });
    for (var n = 2; n < arguments.length; n++) if (arguments[n]) element.append(arguments[n]);
    return element;
  }
  function button(text, act) { return make("button", { type: "button", text: text, onclick: act }); }

  function input(id, name, label, attributes) {
    var given = Object.assign({ type: "text", autocomplete: "off", "aria-label": label }, attributes);
    var made = make(given.tag || "input", given);
    made.removeAttribute("tag");
    inputs[id + "/" + name] = made;
    made.addEventListener("input", function () { set(id, name, made.value); });
    made.addEventListener("change", function () {
      var field = fields[id];
      var main = field && name === FIRST[field.form];
      if (name === "sample") made.value = sampleOf({ sample: made.value });
      else if (main) made.value = typed(field, made.value);
      set(id, name, made.value);
    });
    return made;
  }
  function digits(id, name, label, attributes) {
    return input(id, name, label, Object.assign({ inputmode: "decimal", class: "digits",
      enterkeyhint: "next" }, attributes));
  }
  function time(id, label) { return input(id, "at", label, { type: "time", class: "time" }); }
  function choice(id, name, label, options) {
    var made = input(id, name, label, { tag: "select" });
    made.removeAttribute("type");
    options.forEach(function (one) { made.append(make("option", { value: one[0], text: one[1] })); });
    return made;
  }
  function person(id, label) {
    if (!data.people.length) return input(id, "by", label, { class: "who" });
    return choice(id, "by", label, [["", "by"]].concat(data.people.map(function (who) {
      return [who, who];
    })));
  }
  function unit(text) { return make("span", { class: "unit", text: text }); }
  function onShow(id, act) { act.id = id; shows.push(act); }

  function rowOf(field) { return document.querySelector('[data-write="' + field.at + '"]'); }

  function writeReading(field) {
    var row = rowOf(field);
    if (!row) return;
    var title = field.title, id = field.id;
    var line = make("div", { class: "write" },
      make("span", { class: "pair" },
        digits(id, "read", title + ", " + field.label, { class: "digits main" }), unit(field.label)));
    if (field.sample) {
      line.append(make("span", { class: "pair" }, unit("sample at"),
        digits(id, "sample", title + ": sample at, " + data.sample.label), unit(data.sample.label)));
    }
    var more = make("div", { class: "write more" }, time(id, title + ": time"),
      person(id, title + ": by"));
    if (field.with.length > 1) {
      more.append(choice(id, "with", title + ": instrument", field.with.map(function (one, n) {
        return [n ? one.name : "", one.name.replace(/_/g, " ")];
      })));
    }
    var result = make("output", { class: "verdict" });
    row.querySelector(".expect").after(line, more, result);
    var todo = row.querySelector(".todo"), opened = null, remedy = make("div", { class: "remedy" });
    if (todo) {
      var switched = button(todo.querySelector("h3").textContent, function () {
        open(!opened.classList.contains("open"));
      });
      opened = make("div", { class: "opened" });
      todo.before(opened);
      opened.append(switched, todo, remedy);
      open(false);
    }
    function open(yes) {
      opened.classList.toggle("open", yes);
      switched.setAttribute("aria-expanded", yes);
    }
    var before = "", wanted = -2;
    onShow(field.under ? "" : id, function () {
      var entry = kept[id] || {}, made = judge(field, entry);
      more.hidden = !entry.read;
      inputs[id + "/read"].setAttribute("aria-invalid", made && made.bad ? "true" : "false");
      var words = made ? [made.verdict, made.words].filter(Boolean).join(". ") : "";
      if (words !== before) result.textContent = before = words;
      result.className = "verdict " + ((made && made.verdict) || "none").toLowerCase().split(" ")[0];
      result.dataset.value = made && made.value !== undefined ? made.value : "";
      if (!todo) return;
      var off = made && made.verdict && made.verdict !== "ON PLAN";
      var goes = off ? field.todo.findIndex(function (one) {
        return !one.never && (one.above === null || made.value > one.above) &&
          (one.upto === null || made.value <= one.upto);
      }) : -2;
      if (goes === wanted) return;
      wanted = goes;
      open(Boolean(off));
      Array.prototype.forEach.call(todo.querySelectorAll("tbody tr"), function (tr, n) {
        tr.classList.toggle("goes", n === goes);
        if (n === goes) tr.setAttribute("aria-current", "true");
        else tr.removeAttribute("aria-current");
      });
      remedy.textContent = "";
      if (goes === -1 && made.verdict === "OFF PLAN") remedy.append(make("p", { text: "Not in this table: " + field.otherwise + "." }));
      else if (goes >= 0 && field.todo[goes].put) remedy.append(putIn(field.todo[goes].put));
    });
  }

  var ADDED = (data.fields.find(function (field) { return field.form === "list"; }) || {}).id;

  // What a remedy put in, ready to be written down: nothing is until the button is pressed.
  function putIn(put) {
    var what = put.what.replace(/_/g, " ") +
      (put.temperature ? ", " + put.temperature.replace(/ ([CF])$/, "\u202f°$1") : "");
    var amount = make("input", { type: "text", inputmode: "decimal", class: "digits",
      autocomplete: "off", "aria-label": "Amount of " + what + " put in," + put.unit,
      value: put.amount });
    var done = make("p", { role: "status" });
    return make("div", {},
      make("div", { class: "write" }, amount, unit(put.unit.trim() + " " + what + " to the " + put.to),
        button("Write down", function () {
          var text = typed(put, amount.value);
          if (!NUMBER.test(text)) { done.textContent = "Not a number: " + amount.value; return; }
          append(ADDED, Object.assign({}, put, { amount: text + put.unit }));
          done.textContent = "Written down: " + text + put.unit + " " + what;
        })), done);
  }

  function append(id, given) {
    var one = {};
    fields[id].keys.forEach(function (key) { if (given[key]) one[key] = given[key]; });
    if (!one.at && stamps()) one.at = clock();
    if (!one.by && part("me", "by")) one.by = part("me", "by");
    kept[id] = (kept[id] || []).concat([one]);
    keep(id);
    if (DAY && !part(DAY, "day")) set(DAY, "day", today());
    refresh(id);
  }

  function writeWeighed(field) {
    var row = rowOf(field);
    if (!row) return;
    var id = field.id, title = field.title;
    var more = make("div", { class: "write more" }, input(id, "lot", title + ": lot",
      { class: "lot", placeholder: "lot" }), time(id, title + ": time"), person(id, title + ": by"));
    var result = make("output", { class: "verdict" });
    row.querySelector(".expect").after(make("div", { class: "write" },
      digits(id, "amount", title + " weighed," + field.unit, { class: "digits main" }),
      unit(field.unit.trim())), more, result);
    onShow(id, function () {
      var entry = kept[id] || {}, bad = entry.amount && !isReadable(field, entry);
      more.hidden = !entry.amount;
      var words = bad ? "Not a number: " + entry.amount + ". Type digits and a point." : "";
      if (result.textContent !== words) result.textContent = words;
    });
  }

  // A time that is written is not lost to a second touch: it is changed where it stands.
  function nowButton(id, words) {
    var made = button(words, function () { set(id, "at", clock()); });
    onShow(id, function () { made.disabled = Boolean(part(id, "at")); });
    return made;
  }

  function writeIn(field) {
    var row = rowOf(field);
    if (!row) return;
    var what = row.querySelector(".ticked").textContent;
    var timer = data.timers.find(function (one) { return one.of === field.id; });
    if (timer) timer.words = row.querySelectorAll(".value")[1].textContent + " " + what;
    var planned = unit("");
    row.querySelector(".expect").after(make("div", { class: "write" },
      nowButton(field.id, "In, now"), time(field.id, what + ": went in at"), planned));
    onShow("", function () {
      var at = timer && due(timer);
      planned.textContent = at ? "planned " + clock(at) : "";
    });
  }

  function writeClock(field) {
    var line = make("div", { class: "write clock", "data-thing": field.id },
      make("span", { class: "clock-title", text: field.title }), nowButton(field.id, "Now"),
      time(field.id, field.title + ": time"));
    if (field.after) return rowOf({ at: field.after }) && rowOf({ at: field.after }).append(line);
    place(field, line);
  }

  function stageOf(field) {
    var head = document.getElementById("stage-" + field.stage);
    return head && head.parentNode;
  }
  // Below the head of its stage, after what stands there already.
  function place(field, line) {
    var last = document.getElementById("stage-" + field.stage);
    if (!last) return;
    while (last.nextElementSibling && last.nextElementSibling.matches(".doing, .clock")) {
      last = last.nextElementSibling;
    }
    last.after(line);
  }

  function writeWords(field) {
    var stage = stageOf(field) || document.getElementById("main");
    var made = input(field.id, "text", field.title || "Remarks", { tag: "textarea", rows: "2" });
    made.removeAttribute("type");
    stage.append(make("p", { class: "remarks", text: field.title || "Remarks" }), made);
  }

  // One value that nothing is decided by: a day, a count, a word.
  function writeValue(field) {
    var made = field.choices
      ? choice(field.id, "text", field.title, [["", ""]].concat(field.choices.map(function (one) {
        return [one, one]; })))
      : input(field.id, "text", field.title, field.attributes);
    place(field, make("div", { class: "write clock", "data-thing": field.id },
      make("span", { class: "clock-title", text: field.title }), made, unit(field.unit.trim())));
  }

  // A day of the log: its reading, and whether that lies in the band of its day.
  function writeLog(field) {
    var row = rowOf(field), id = field.id, title = field.title;
    if (!row) return;
    var result = make("output", { class: "verdict" });
    var more = make("div", { class: "write more" },
      input(id, "date", title + ": day", { type: "date" }), time(id, title + ": time"),
      person(id, title + ": by"));
    row.querySelector(".expect").after(make("div", { class: "write" },
      digits(id, "read", title + ": gravity", { class: "digits main" }), unit("SG"),
      digits(id, "sample", title + ": beer, " + data.sample.label), unit(data.sample.label)),
      more, result);
    onShow(id, function () {
      var entry = kept[id] || {}, text = typed(field, entry.read || ""), words = "", mark = "none";
      more.hidden = !entry.read;
      if (text && !isReadable(field, entry)) {
        words = NUMBER.test(text) ? "Type day and time" : "Not a number: " + entry.read;
      } else if (text && field.edges) {
        var on = verdict(Number(text), field.edges) === "ON PLAN";
        words = on ? "IN ITS BAND" : "OUTSIDE ITS BAND: T1";
        mark = on ? "on" : "off";
      }
      if (result.textContent !== words) result.textContent = words;
      result.className = "verdict " + mark;
    });
  }

  function writeScore(field) {
    Array.prototype.forEach.call(rowOf(field).querySelectorAll("input"), function (radio) {
      radio.addEventListener("change", function () { set(field.id, "mark", radio.value); });
      onShow(field.id, function () { radio.checked = part(field.id, "mark") === radio.value; });
    });
  }

  // Who writes, and whether it is kept --------------------------------------------------------

  function head() {
    var state = make("p", { class: "state", role: "status" });
    var me = person("me", "Your initials");
    var late = make("label", { class: "ticked" },
      input("me", "late", "No times", { type: "checkbox" }),
      make("span", { text: "Typed later, from paper: put no times" }));
    var box = late.firstChild;
    box.removeAttribute("aria-label");
    box.addEventListener("change", function () { set("me", "late", box.checked ? "yes" : ""); });
    box.addEventListener("input", function (event) { event.stopImmediatePropagation(); }, true);
    var section = make("section", { class: "written", "aria-label": "Who writes, and when" }, state,
      make("div", { class: "write" }, unit("You"), me), late);
    if (DAY) section.children[1].append(unit(data.dayTitle),
      input(DAY, "day", data.dayTitle, { type: "date" }));
    if (data.timers.length) section.children[1].append(button("Try the sound", alarm));
    var loses = document.querySelector(".kept");
    if (loses) loses.remove();
    document.getElementById("main").prepend(section);
    onShow("", function () {
      var copy = "copy " + data.copy + (part("me", "by") ? ", " + part("me", "by") : "");
      var words = keeps
        ? "Kept on this device for " + copy + ". Some browsers forget: save a file too."
        : "This browser keeps nothing when the page is closed. Save a file before you leave it.";
      if (state.textContent !== words) state.textContent = words;
      state.classList.toggle("warn", !keeps);
    });
  }

  // The bar at the top: what is due, and what comes next ------------------------------------------

  var bar = make("div", { class: "now", role: "region", "aria-label": "Next" });
  function top() {
    var rings = make("div", { class: "rings", role: "alert" });
    var count = make("span", { class: "count" });
    var next = make("a", { href: "#top", class: "next-thing" });
    var left = make("a", { href: "#top", class: "left" });
    bar.append(rings, make("div", { class: "now-line" }, next, count, left,
      make("a", { href: "#into-record", text: "Save" })));
    document.body.insertBefore(bar, document.querySelector(".top"));
    var things = document.querySelectorAll("main .row, main [data-thing], main .hold-point li");
    Array.prototype.forEach.call(things, function (thing, n) {
      if (!thing.id) thing.id = "thing-" + n;
    });
    onShow("", function () {
      var open = [], last = -1;
      Array.prototype.forEach.call(things, function (thing, n) {
        if (isDone(thing)) last = n; else open.push(n);
        thing.classList.remove("next");
      });
      var after = open.find(function (n) { return n > last; });
      var before = open.filter(function (n) { return n < last; });
      point(next, things[after], "Next: ", "All written");
      point(left, things[before[0]], "", "");
      left.textContent = before.length ? before.length + " left out" : "";
      if (things[after]) things[after].classList.add("next");
    });
    next.addEventListener("click", function () {
      var thing = document.getElementById(next.getAttribute("href").slice(1));
      var first = thing && thing.querySelector(".digits, button, .ticked input");
      if (first) setTimeout(function () { first.focus({ preventScroll: true }); }, 0);
    });
    var ringing = "";
    function tick() {
      var now = new Date(), rung = [], coming = null;
      data.timers.forEach(function (timer) {
        var at = isOver(timer) ? null : due(timer);
        if (!at || Math.abs(at - now) > 12 * 3600000) return;
        if (at <= now) rung.push({ timer: timer, at: at });
        else if (!coming || at < coming.at) coming = { timer: timer, at: at };
      });
      var ids = rung.map(function (one) { return one.timer.id; }).join();
      if (ids !== ringing) {
        rings.textContent = "";
        rung.forEach(function (one) {
          rings.append(make("div", { class: "write" }, make("strong", {
            text: "NOW, " + clock(one.at) + ": " + one.timer.words }),
            button(one.timer.of ? "Done, now" : "Done", function () {
              if (one.timer.of) set(one.timer.of, "at", clock());
              else set("done." + one.timer.id, "at", clock());
              tick();
            })));
        });
        ringing = ids;
      }
      // For ten minutes after its time, each half minute.
      var loud = rung.some(function (one) { return now - one.at < 600000; });
      if (loud && now.getSeconds() % 30 < 1) alarm();
      var seconds = coming ? Math.ceil((coming.at - now) / 1000) : 0;
      count.textContent = coming ? Math.floor(seconds / 60) + ":" + two(seconds % 60) + " to " +
        coming.timer.words : "";
      // What is jumped to stands below the bar, not behind it.
      document.documentElement.style.scrollPaddingTop = bar.offsetHeight + 8 + "px";
    }
    onShow("", tick);
    setInterval(tick, 1000);
  }

  function isDone(thing) {
    if (thing.dataset.thing) {
      return ["at", "text"].some(function (name) { return part(thing.dataset.thing, name); });
    }
    var box = thing.querySelector(".ticked input"), at = thing.dataset.write;
    var field = at && data.fields.find(function (one) { return one.at === at; });
    return Boolean(box && box.checked) || Boolean(field && (part(field.id, FIRST[field.form] || "at")));
  }
  function point(link, thing, words, none) {
    var said = none;
    if (thing) {
      var title = thing.querySelector(".clock-title, .ticked > span:last-child");
      var expect = thing.querySelector(".expect");
      said = words + title.textContent.trim().replace(/^(\d+)(?=[^\d\s])/, "$1 ") + (expect ? " " + expect.textContent.trim() : "");
      link.setAttribute("href", "#" + thing.id);
    }
    if (words && link.textContent !== said) link.textContent = said;
    link.hidden = !said;
  }

  var audio = null;
  function alarm() {
    if (navigator.vibrate) navigator.vibrate([400, 200, 400]);
    var Audio = window.AudioContext || window.webkitAudioContext;
    if (!Audio) return;
    audio = audio || new Audio();
    if (audio.state === "suspended") audio.resume();
    [0, 0.4, 0.8].forEach(function (after) {
      var tone = audio.createOscillator(), level = audio.createGain();
      tone.frequency.value = 880;
      level.gain.value = 0.4;
      tone.connect(level);
      level.connect(audio.destination);
      tone.start(audio.currentTime + after);
      tone.stop(audio.currentTime + after + 0.25);
    });
  }
  // A browser lets a page sound once it has been touched.
  document.addEventListener("pointerdown", function () {
    var Audio = window.AudioContext || window.webkitAudioContext;
    if (Audio && !audio) audio = new Audio();
  }, { once: true });

  // Out of the page -----------------------------------------------------------------------------

  function fileName(end) {
    var by = part("me", "by");
    return data.batch + "-copy-" + data.copy + (by ? "-" + by : "") + end;
  }
  function save(name, text) {
    var link = make("a", { href: URL.createObjectURL(new Blob([text])), download: name });
    link.click();
    setTimeout(function () { URL.revokeObjectURL(link.href); }, 10000);
  }
  function asFile() {
    return JSON.stringify({ batch: data.batch, plan: data.plan, copy: data.copy, kept: kept }, null, 1);
  }

  // Return what was taken up from a file: blanks that are empty here. Ours stay as they are.
  function takeUpFile(text) {
    var file;
    try { file = JSON.parse(text); } catch (error) { file = null; }
    if (!file || !file.kept || file.batch === undefined) return "This is not a file of such a page.";
    if (file.batch !== data.batch || file.plan !== data.plan) {
      return "This file is of batch " + file.batch + ", plan " + file.plan + "; this page is of " +
        data.batch + ", plan " + data.plan + ". Nothing taken up.";
    }
    var taken = 0, ours = [];
    Object.keys(file.kept).forEach(function (id) {
      var entry = file.kept[id], mine = kept[id];
      if (!sound(id, entry) || (mine && id === "me")) return;
      if (Array.isArray(entry) && mine) {
        var here = mine.map(function (one) { return JSON.stringify(one); });
        entry = entry.filter(function (one) { return here.indexOf(JSON.stringify(one)) < 0; });
        if (!entry.length) return;
        entry = mine.concat(entry);
      } else if (mine) {
        if (JSON.stringify(mine) !== JSON.stringify(entry)) {
          var theirs = entry.read || entry.amount || entry.at || entry.text || entry.day;
          ours.push((fields[id] ? fields[id].title || id.split(".").pop() : id) + " (file: " + theirs + ")");
        }
        return;
      }
      kept[id] = entry;
      keep(id);
      taken++;
    });
    refresh();
    return taken + " taken up from copy " + file.copy + "." +
      (ours.length ? " Kept as here: " + ours.join(", ") + "." : "");
  }

  function foot() {
    var words = make("p", { role: "status", class: "state" });
    var text = make("textarea", { readonly: "", rows: "12", "aria-label": "YAML for the record",
      spellcheck: "false", class: "yaml" });
    var bad = make("p", { class: "state warn" });
    var file = make("input", { type: "file", accept: ".json,application/json", id: "from-file",
      "aria-label": "Go on from a file" });
    file.addEventListener("change", function () {
      if (!file.files.length) return;
      file.files[0].text().then(function (found) {
        words.textContent = takeUpFile(found);
        file.value = "";
      });
    });
    function copy() {
      function said() { words.textContent = "Copied. Paste it at the end of " + data.file + "."; }
      function byHand() {
        text.focus();
        text.select();
        if (document.execCommand && document.execCommand("copy")) said();
        else words.textContent = "Marked below: copy it by hand.";
      }
      if (navigator.clipboard) navigator.clipboard.writeText(text.value).then(said, byHand);
      else byHand();
    }
    var erase = make("details", {}, make("summary", { text: "Erase what is written" }));
    var really = button("Erase all of it on this device", function () {
      erased = kept;
      kept = {};
      Object.keys(erased).forEach(keep);
      erase.open = false;
      refresh();
      back.hidden = false;
      words.textContent = "Erased.";
    });
    var back = button("Put it back", function () {
      kept = erased;
      Object.keys(kept).forEach(keep);
      refresh();
      back.hidden = true;
      words.textContent = "Put back.";
    });
    back.hidden = true;
    erase.append(really);
    var section = make("section", { class: "written" },
      make("h2", { id: "into-record", text: "Into the record" }),
      data.fields.some(function (field) { return field.form === "reading"; }) && leftOut(), lists(), bad, text,
      make("div", { class: "write" }, button("Copy", copy),
        button("Save YAML", function () { save(fileName(".yaml"), text.value); }),
        button("Save to go on", function () { save(fileName(".json"), asFile()); })),
      words, back,
      make("p", { text: "Copy and Save YAML: for the end of " + data.file + ". To check first: cat " +
        data.file + " " + fileName(".yaml") + " | reportgen check -" }),
      make("p", { text: "Save to go on: all that is written, to take up here or on another phone:" }),
      make("div", { class: "write" }, file), erase);
    document.getElementById("main").append(section);
    onShow("", function () {
      text.value = yaml();
      var wrong = data.fields.filter(function (field) {
        var entry = kept[field.id];
        return entry && FIRST[field.form] && entry[FIRST[field.form]] && !isReadable(field, entry);
      }).map(function (field) { return field.title; });
      bad.textContent = wrong.length ? "Left out, not a number: " + wrong.join(", ") + "." : "";
    });
  }

  // A reading that nobody took, with the reason: a keyboard for digits has no letters for it.
  function leftOut() {
    var which = make("select", { "aria-label": "Not done: which reading", autocomplete: "off" });
    var why = make("input", { type: "text", "aria-label": "Not done: because", autocomplete: "off",
      placeholder: "because" });
    var said = make("p", { role: "status" });
    onShow("", function () {
      var open = data.fields.filter(function (field) {
        return field.form === "reading" && !part(field.id, "read");
      });
      var ids = open.map(function (field) { return field.id; }).join();
      if (which.dataset.ids === ids) return;
      which.dataset.ids = ids;
      which.textContent = "";
      [{ id: "", title: "which" }].concat(open).forEach(function (field) {
        which.append(make("option", { value: field.id, text: field.title }));
      });
    });
    return make("div", {}, make("h3", { text: "Not done" }), make("div", { class: "write" }, which, why,
      button("Write down", function () {
        if (!which.value || !why.value.trim()) { said.textContent = "Missing: which or because."; return; }
        var title = fields[which.value].title;
        set(which.value, "read", "not done because " + why.value.trim());
        why.value = "";
        said.textContent = title + " is written down as not done.";
      })), said);
  }

  // What went in or came out: an entry is struck out, never lost.
  function lists() {
    var all = make("div", {});
    data.fields.filter(function (field) { return field.form === "list"; }).forEach(function (field) {
      var adds = field.keys.indexOf("to") > 0, shown = make("ul", {}), given = {};
      var form = make("div", { class: "write" });
      field.keys.forEach(function (key) {
        var label = (adds ? "Added: " : "Taken out: ") + key;
        var options = key === "to" ? data.to : key === "from" ? data.from : null;
        if (key === "what" && adds) options = data.addable;
        if (key === "by" || key === "temperature") return;
        given[key] = make(options ? "select" : "input", { "aria-label": label, autocomplete: "off" });
        if (!options) {
          given[key].type = key === "at" ? "time" : "text";
          if (key !== "at") given[key].placeholder = key === "amount" ? "1.5" + data.volume : key;
        } else {
          [""].concat(options).forEach(function (one) {
            given[key].append(make("option", { value: one, text: one.replace(/_/g, " ") || key }));
          });
        }
        form.append(given[key]);
      });
      var said = make("p", { role: "status" });
      form.append(button("Write down", function () {
        var one = {};
        Object.keys(given).forEach(function (key) { one[key] = given[key].value.trim(); });
        var amount = typed({ unit: "" }, one.amount);
        if (!amount || (adds ? !one.what || !one.to : !one.from)) {
          said.textContent = "Missing: " + (adds ? "what, amount or to." : "amount or from.");
          return;
        }
        one.amount = NUMBER.test(amount) ? amount + data.volume : amount;
        append(field.id, one);
        Object.keys(given).forEach(function (key) { given[key].value = ""; });
        said.textContent = "Written down.";
      }));
      all.append(make("h3", { text: adds ? "Added beyond the plan" : "Taken out" }), shown, form, said);
      onShow(field.id, function () {
        shown.textContent = "";
        (kept[field.id] || []).forEach(function (one, n) {
          var words = field.keys.map(function (key) { return one[key]; }).filter(Boolean).join(", ");
          shown.append(make("li", { class: "write" }, make(one.gone ? "s" : "span", { text: words }),
            button(one.gone ? "Put back" : "Strike out", function () {
              if (one.gone) delete one.gone; else one.gone = "yes";
              keep(field.id);
              refresh(field.id);
            })));
        });
      });
    });
    return all;
  }

  function ticks() {
    var seen = {};
    document.querySelectorAll("main .ticked input").forEach(function (box) {
      var words = box.parentNode.textContent.trim(), again = seen[words] = (seen[words] || 0) + 1;
      var id = "tick." + words + "." + again;
      inputs[id + "/on"] = box;
      box.addEventListener("change", function () { set(id, "on", box.checked ? "yes" : ""); });
    });
  }

  // Enter goes on to the next blank, as a finger does down the sheet.
  document.addEventListener("keydown", function (event) {
    if (event.key !== "Enter" || !event.target.matches(".row .digits")) return;
    var all = Array.from(document.querySelectorAll(".row .digits"));
    var after = all[all.indexOf(event.target) + 1];
    if (after) after.focus();
  });

  document.documentElement.classList.add("writing");
  readKept();
  ticks();
  var makers = { reading: writeReading, weighed: writeWeighed, in: writeIn, clock: writeClock,
    words: writeWords, value: writeValue, log: writeLog, score: writeScore };
  data.fields.forEach(function (field) { if (makers[field.form]) makers[field.form](field); });
  head();
  foot();
  top();
  refresh();
  addEventListener("storage", function (event) {
    if (!event.key || event.key.indexOf(prefix) !== 0) return;
    var id = event.key.slice(prefix.length);
    if (event.newValue === null) delete kept[id]; else takeUp(id, event.newValue);
    refresh(id);
  });
  addEventListener("beforeunload", function (event) {
    if (!keeps && yaml()) event.preventDefault();
  });
}());
