// A sheet, written on. What is typed is held against numbers that the tool put into the page,
// kept on this device, and set out as YAML. Nothing is sent; nothing of a brew is computed.
(function () {
  "use strict";
  const data = JSON.parse(the("written").textContent);
  const prefix = ["reportgen", data.batch, data.plan, data.copy, ""].join("|");
  const kept = {}; // what was written, by the id of its field; each part of it a text
  const inputs = {}; // by id and part
  const shows = []; // what is set again after a change
  const unkept = new Set(); // ids that the device did not take
  let keeps = true;
  const fields = Object.fromEntries(data.fields.concat(data.me).map((one) => [one.id, one]));
  const DAY = (data.fields.find((one) => one.day) || {}).id; // of a sheet of one day

  // Keeping ---------------------------------------------------------------------------------

  // Each field is kept by itself, so that two windows do not undo each other.
  function keep(id) {
    unkept.add(id);
    unkept.forEach((one) => {
      try {
        if (kept[one]) localStorage.setItem(prefix + one, JSON.stringify(kept[one]));
        else localStorage.removeItem(prefix + one);
        unkept.delete(one);
      } catch (error) { keeps = false; }
    });
    if (!unkept.size) keeps = true;
  }
  function sound(id, entry) {
    return (fields[id] || /^(tick|done)\./.test(id)) && entry && typeof entry === "object" &&
      !Array.isArray(entry) && Object.values(entry).every((text) => typeof text === "string");
  }
  function takeUp(id, text) {
    try {
      const entry = JSON.parse(text);
      if (sound(id, entry)) kept[id] = entry;
    } catch (error) { /* what is damaged is left where it is */ }
  }
  function readKept() {
    try {
      localStorage.setItem(prefix + "try", "1");
      localStorage.removeItem(prefix + "try");
      Object.keys(localStorage).filter((key) => key.startsWith(prefix)).forEach((key) => {
        takeUp(key.slice(prefix.length), localStorage.getItem(key));
      });
    } catch (error) { keeps = false; }
  }

  function part(id, name) { return (kept[id] && kept[id][name]) || ""; }
  function when(id) { return part(id, "at") || part(id, ""); }
  function me() { return part("me", "by"); }

  // With what an entry is about come its time and initials, and the day of the sheet.
  function set(id, name, value) {
    const field = fields[id] || {}, entry = Object.assign({}, kept[id]);
    if (value.trim() && !entry[name] && name === field.main) {
      field.parts.filter((one) => one.name !== name && !entry[one.name]).forEach((one) => {
        if (one.name === "by") entry.by = me();
        if (one.name === "at" && stamps()) entry.at = (one.is === "moment" ? today() + "T" : "") + clock();
      });
    }
    entry[name] = value.trim() ? value : "";
    write(id, entry);
    if (fields[id] && id !== "me" && value.trim() && DAY && id !== DAY && !part(DAY, "")) set(DAY, "", today());
  }
  function write(id, entry) {
    const filled = Object.entries(entry).filter((pair) => pair[1]);
    if (filled.length) kept[id] = Object.fromEntries(filled); else delete kept[id];
    keep(id);
    refresh(id);
  }
  function refresh(id) {
    Object.entries(inputs).forEach(([key, input]) => {
      const at = key.lastIndexOf("/"), value = part(key.slice(0, at), key.slice(at + 1));
      if (id && key.slice(0, at) !== id) return;
      if (input.type === "checkbox") input.checked = value === "yes";
      else if (input.value !== value && input !== document.activeElement) input.value = value;
    });
    shows.forEach((show) => { if (!id || !show.id || show.id === id) show.act(); });
  }
  function onShow(id, act) { shows.push({ id: id, act: act }); }

  // The day and the clock -------------------------------------------------------------------

  const MINUTE = 60000, HOUR = 60 * MINUTE;
  function two(number) { return String(number).padStart(2, "0"); }
  function clock(at) {
    const now = at || new Date();
    return two(now.getHours()) + ":" + two(now.getMinutes());
  }
  function today() {
    const now = new Date();
    return now.getFullYear() + "-" + two(now.getMonth() + 1) + "-" + two(now.getDate());
  }
  // A long day runs past midnight; what is typed on another day, from paper, gets no time.
  function onDay() {
    const begun = Date.now() - new Date(part(DAY, "") + "T00:00");
    return begun >= 0 && begun < 30 * HOUR;
  }
  function stamps() { return part("me", "late") !== "yes" && (!part(DAY, "") || onDay()); }

  function planned(timer) {
    const from = when(timer.from).split(":");
    if (from.length < 2) return "";
    const at = (from[0] * 60 + +from[1] + timer.after) % 1440;
    return two(Math.floor(at / 60)) + ":" + two(Math.floor(at % 60));
  }
  // A clock says no day: the moment meant is the one nearest to now.
  function due(timer) {
    if (!planned(timer) || !onDay()) return null;
    const at = new Date();
    at.setHours(...when(timer.from).split(":"), 0, 0);
    if (at - Date.now() > 12 * HOUR) at.setDate(at.getDate() - 1);
    if (at - Date.now() < -12 * HOUR) at.setDate(at.getDate() + 1);
    return new Date(+at + timer.after * MINUTE);
  }
  function isOver(timer) {
    return ["done." + timer.id, timer.of].concat(timer.until).some((id) => id && when(id));
  }

  // What was typed --------------------------------------------------------------------------

  const NUMBER = /^-?(\d+(\.\d*)?|\.\d+)$/, MEASURED = /(-?\d+(?:\.\d*)?|\.\d+) ?°?([^\d\s.-][^\d]*)/g;
  const NONE = /^(NOT RECORDED|not done because .+)$/;

  function isNumber(one) { return /^(main|digits|count)$/.test(one.is); }

  // As a careful typist writes it: a point for a comma, 1.042 for 1042, the unit said once.
  function typed(one, text) {
    text = (text || "").trim().replace(/^(-?\d*),(\d+)/, "$1.$2").replace(/^\u2212/, "-");
    [one.typed, one.unit].filter(Boolean).map((unit) => unit.trim().toLowerCase()).forEach((unit) => {
      const bare = text.slice(0, -unit.length).replace(/[\s°]+$/, "");
      if (text.toLowerCase().endsWith(unit) && NUMBER.test(bare)) text = bare;
    });
    if (one.gravity) {
      text = text.replace(/^(1)([01]\d{2,3})$/, "$1.$2").replace(/^9[89]\d{1,2}$/, "0.$&").replace(/^\.?(0\d{2,3})$/, "1.$1");
    }
    return text;
  }
  // Return a number in the unit of the sheet; NaN for no number, null for one that is only kept.
  function amount(one, text) {
    if (NUMBER.test(text)) return Number(text);
    if (NONE.test(text)) return null;
    const known = data.units[one.kind] || {}, found = [...text.matchAll(MEASURED)];
    if (!found.length || found.map((match) => match[0]).join("") !== text) return NaN;
    const units = found.map((match) => known[match[2].trim().toLowerCase()]);
    if (units.includes(undefined)) return NaN;
    return units.length > 1 || !units[0] ? null : units[0][0] * found[0][1] + units[0][1];
  }

  function filled(field) {
    return (field.parts || []).some((one) => part(field.id, one.name) &&
      (one.name === field.main || !["at", "by"].includes(one.name)));
  }
  function notNumber(field) {
    const wrong = (field.parts || []).find((one) => isNumber(one) && part(field.id, one.name) &&
      Number.isNaN(amount(one, typed(one, part(field.id, one.name)))));
    if (!wrong) return "";
    const text = part(field.id, wrong.name);
    return /^-?[.\d]+ ?\D+$/.test(text) ? "Not a unit here: " + text : "Not a number: " + text + ". Type digits and a point.";
  }
  function missing(field) {
    return (field.needs || (field.reading ? ["read"] : [])).filter((name) => !part(field.id, name)).map((name) => {
      const one = field.parts.find((each) => each.name === name);
      return one.is === "moment" ? "day and time" : name;
    }).join(", ");
  }

  // Verdicts: comparisons with numbers of the tool ----------------------------------------------

  function between(nodes, value) {
    let n = 0;
    while (n < nodes.length - 2 && value > nodes[n + 1]) n++;
    return { n: n, share: (value - nodes[n]) / (nodes[n + 1] - nodes[n]) };
  }
  function along(line, place) {
    return line[place.n] + (line[place.n + 1] - line[place.n]) * place.share;
  }
  // Return what a reading stands for by its table and the edges that decide about it; null where
  // its sample is outside the table.
  function standsFor(table, read, sample, bare, hot) {
    const place = between(table.reads, read), temps = table.temps;
    if (sample === null || !temps.length || (table.from !== undefined && sample <= table.from)) {
      return { value: along(table.bare, place), edges: bare };
    }
    if (sample > temps[temps.length - 1] || (table.from === undefined && sample < temps[0])) {
      return null;
    }
    const row = between(temps, sample), over = { n: 0, share: row.share };
    return {
      value: along([along(table.at[row.n], place), along(table.at[row.n + 1], place)], over),
      edges: !hot ? bare : bare.map((edge, n) => edge === null ? null
        : along(hot.edges.map((row) => row[n]), between(hot.at, sample))) };
  }
  function verdict(value, edges) {
    const [off, low, high, over] = edges.map((edge, n) => edge !== null ? edge : n < 2 ? -Infinity : Infinity);
    if (value < off || value > over) return "OFF PLAN";
    return value < low || value > high ? "TOO CLOSE TO CALL" : "ON PLAN";
  }

  function judge(field) {
    const main = field.parts.find((one) => one.name === field.main), entry = kept[field.id] || {};
    const text = typed(main, entry[field.main]), said = [];
    const wrong = notNumber(field), lacks = entry[field.main] ? missing(field) : "";
    if (wrong || lacks) return { bad: Boolean(wrong), words: wrong || "Missing: " + lacks };
    if (!text || !field.with) return null;
    const how = field.with.find((one) => one.name === entry.instrument) || field.with[0];
    const plain = NUMBER.test(text), again = typed(main, entry.again), table = data.tables[how.table];
    let read = amount(main, text), by = how;
    if (read === null || (!plain && how.edges && how.edges.length > 1)) {
      return { words: "Kept as written. No verdict here." };
    }
    if (again && how.twice && NUMBER.test(again) && plain) {
      by = how.twice;
      read = (read + Number(again)) / 2;
    }
    const warm = field.parts.find((one) => one.name === "sample");
    const sample = warm && entry.sample ? amount(warm, typed(warm, entry.sample)) : null;
    const at = by.edges && Math.min((text.split(".")[1] || "").length, by.edges.length - 1);
    const bare = by.edges && by.edges[at];
    const found = table ? standsFor(table, read, sample, bare,
      by.hot && { at: by.hot.at, edges: by.hot.edges[at] }) : { value: read, edges: bare };
    if (!found) return { words: "Not used: its sample is outside the table. Cool the sample and read again." };
    const made = { value: found.value, u: by.u };
    if (by.edges) {
      made.verdict = verdict(found.value, found.edges);
      const other = field.under && fields[field.under] && judge(fields[field.under]);
      if (other && found.value - by.u > other.value + other.u) made.verdict = "OFF PLAN";
    }
    if (made.verdict) said.push(!field.says ? made.verdict : field.says[made.verdict] || field.says["OFF PLAN"]);
    if (field.sample && sample === null) said.push("As read: type the temperature of the sample");
    else if (Math.abs(found.value - read) > 1e-9) {
      said.push("Corrected " + found.value.toFixed(field.decimals) + " " + main.unit);
    }
    if (main.usual && (read < main.usual[0] || read > main.usual[1])) {
      said.push("Usual is " + main.usual.join(" to ") + " " + main.unit + ": if it is another unit, type that too");
    }
    if (made.verdict === "TOO CLOSE TO CALL" && !field.says) {
      said.push(field.critical ? "This limit is critical: not clearly kept"
        : by === how ? "Read once more before you act" : "Twice read: the instrument cannot tell");
    }
    made.words = said.join(". ");
    return made;
  }

  // The record ------------------------------------------------------------------------------

  function scalar(text, flow) {
    text = text.trim();
    const plain = flow ? /^[A-Za-z0-9][\p{L}\w .()%\/°+-]*$/u : /^[A-Za-z0-9][\p{L}\w .,'()%\/°+-]*$/u;
    const moment = /^(-\d|(\d{4}-\d\d-\d\d )?\d\d:\d\d$)/;
    return plain.test(text) || moment.test(text) ? text : JSON.stringify(text);
  }
  function valueOf(one, text) {
    if (one.is === "moment") return text.replace("T", " ");
    if (!isNumber(one)) return text;
    text = typed(one, text);
    return NUMBER.test(text) ? text + (one.typed || "") : text;
  }
  // Return what stands behind the key of a field; nothing when it is empty, or cannot be read.
  function said(field) {
    if (field.people) {
      const people = [...new Set(Object.values(kept).map((entry) => entry.by).filter(Boolean))];
      return people.length ? "[" + people.sort().join(", ") + "]" : "";
    }
    if (field.me) return scalar(me() || field.me);
    // What an entry begins with stands where anything of it is written.
    if (field.stands) {
      return data.fields.some((one) => !one.stands && one.id.startsWith(field.entry) && said(one)) ? scalar(field.stands) : "";
    }
    if (field.silent || !filled(field) || notNumber(field) || missing(field)) return "";
    const pairs = (field.fixed || []).concat(field.parts.map((one) =>
      [one.name, valueOf(one, part(field.id, one.name))]).filter((pair) => pair[1]), field.also || []);
    const timer = data.timers.find((one) => one.late === field.id), late = timer && when(timer.of);
    if (late && planned(timer) && late !== planned(timer)) pairs.push(["added_at", late]);
    const alone = !pairs[0][0] || (field.reading && (pairs.length === 1 || NONE.test(pairs[0][1])));
    return alone ? scalar(pairs[0][1])
      : "{" + pairs.map((pair) => pair[0] + ": " + scalar(pair[1], true)).join(", ") + "}";
  }
  // Keys that are numbers are the entries of a list; those that begin with a time stand by it.
  function lines(node, margin) {
    const keys = Object.keys(node), isList = keys.every((key) => /^\d+$/.test(key));
    if (isList && keys.every((key) => /^\{at: /.test(node[key]))) keys.sort((a, b) => node[a] < node[b] ? -1 : 1);
    return keys.reduce((found, key) => {
      const below = node[key];
      if (typeof below === "string") return found.concat(margin + (isList ? "- " : key + ": ") + below);
      const inner = lines(below, margin + "  ");
      if (!isList) return found.concat(margin + key + ":", inner);
      return found.concat(margin + "- " + inner[0].trim(), inner.slice(1));
    }, []);
  }
  function yaml() {
    const root = data.issued ? { issued: { plan: data.plan, numbers: data.numbers, copy: data.copy } } : {};
    let count = 0;
    data.fields.forEach((field) => {
      const text = said(field), steps = field.id.split("."), last = steps.pop();
      if (!text) return;
      if (!field.day && !field.people && !field.me && !field.stands) count++;
      steps.reduce((node, step) => node[step] = node[step] || {}, root)[last] = text;
    });
    return count ? lines(root, "").join("\n") + "\n" : "";
  }

  // Making the page ---------------------------------------------------------------------------

  function make(tag, attributes, ...inside) {
    const element = document.createElement(tag);
    Object.entries(attributes || {}).forEach(([name, value]) => {
      if (name === "text") element.textContent = value;
      else if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
      else if (value !== undefined) element.setAttribute(name, value);
    });
    element.append(...inside.filter(Boolean));
    return element;
  }
  function the(id) { return document.getElementById(id); }
  function button(text, act) { return make("button", { type: "button", text: text, onclick: act }); }
  function unit(text) { return make("span", { class: "unit", text: text }); }
  function say(element, words) { if (element.textContent !== words) element.textContent = words; }

  function inputOf(field, one) {
    const id = field.id, made = make(one.choices ? "select" : one.is === "words" ? "textarea" : "input",
      Object.assign({ autocomplete: "off", "aria-label": one.label, placeholder: one.hint }, data.inputs[one.is]));
    (one.choices || []).forEach((choice) => {
      made.append(make("option", { value: choice[0], text: choice[1] }));
    });
    inputs[id + "/" + one.name] = made;
    made.addEventListener("input", () => set(id, one.name, made.value));
    made.addEventListener("change", () => {
      if (isNumber(one)) made.value = typed(one, made.value);
      set(id, one.name, made.value);
    });
    if (!one.now) return made;
    // A time that is written is not lost to a second touch: it is changed where it stands.
    const now = button(one.now, () => set(id, one.name, clock()));
    onShow(id, () => { now.disabled = Boolean(part(id, one.name)); });
    return make("span", { class: "pair" }, now, made);
  }

  function placeOf(at) { return at && document.querySelector('[data-write="' + at + '"]'); }

  // Put the parts of a field where the sheet has their blanks.
  function build(field, box) {
    const spots = new Map(), result = make("output", { class: "verdict" }), later = [];
    field.parts.forEach((one) => {
      const row = box || placeOf(one.at || field.at);
      if (!row) return;
      if (one.is === "mark") return marks(field, one, row);
      if (!spots.has(row)) {
        const expect = row.querySelector(".expect"), line = make("div", { class: "write" });
        const more = make("div", { class: "write more" });
        const all = [line, more].concat(spots.size ? [] : result);
        if (expect) expect.after(...all); else row.append(...all);
        spots.set(row, { line: line, more: more });
        row.classList.add("written-on");
        if (field.main === one.name) row.dataset.of = field.id;
        onShow(field.id, () => { more.hidden = !more.firstChild || !filled(field); });
      }
      const spot = spots.get(row), input = inputOf(field, one);
      const pair = one.before || one.unit ? make("span", { class: "pair" }, one.before && unit(one.before),
        input, one.unit && unit(one.unit)) : input;
      (one.more ? spot.more : spot.line).append(pair);
      if (one.again) later.push(pair);
    });
    const timer = data.timers.find((one) => one.of === field.id && one.late);
    if (timer && spots.size) {
      const at = unit("");
      spots.values().next().value.line.append(at);
      onShow("", () => { say(at, planned(timer) && "planned " + planned(timer)); });
    }
    if (!spots.size || !field.parts.some(isNumber)) return;
    const main = inputs[field.id + "/" + field.main], row = [...spots.keys()][0];
    const table = field.todo && todo(field, row);
    onShow(field.under ? "" : field.id, () => {
      const made = judge(field) || {}, mark = field.says && made.verdict !== "ON PLAN" ? "off" : made.verdict;
      main.setAttribute("aria-invalid", String(Boolean(made.bad)));
      say(result, made.words || "");
      result.className = "verdict " + ((made.verdict && mark) || "none").toLowerCase().split(" ")[0];
      result.dataset.value = made.value === undefined ? "" : made.value;
      later.forEach((one) => {
        one.hidden = !(field.twice || made.verdict === "TOO CLOSE TO CALL" || part(field.id, "again"));
      });
      if (table) table(made);
    });
  }

  function marks(field, one, row) {
    row.querySelectorAll("input").forEach((radio) => {
      radio.addEventListener("change", () => set(field.id, one.name, radio.value));
      onShow(field.id, () => { radio.checked = part(field.id, one.name) === radio.value; });
    });
  }

  // The what-to-do table of a reading: it opens when the reading is off plan, at the row that goes.
  function todo(field, row) {
    const table = row.querySelector(".todo"), remedy = make("div", { class: "remedy" });
    const opened = make("div", { class: "opened" });
    const switched = button(table.querySelector("h3").textContent, () => open(!opened.classList.contains("open")));
    let wanted = -2;
    function open(yes) {
      opened.classList.toggle("open", yes);
      switched.setAttribute("aria-expanded", yes);
    }
    table.before(opened);
    opened.append(switched, table, remedy);
    open(false);
    return (made) => {
      const off = made.verdict && made.verdict !== "ON PLAN";
      const goes = !off ? -2 : field.todo.findIndex((one) => !one.never &&
        (one.above === null || made.value > one.above) && (one.upto === null || made.value <= one.upto));
      if (goes === wanted) return;
      wanted = goes;
      open(Boolean(off));
      table.querySelectorAll("tbody tr").forEach((tr, n) => {
        tr.classList.toggle("goes", n === goes);
        tr.setAttribute("aria-current", String(n === goes));
      });
      remedy.textContent = "";
      if (goes === -1 && made.verdict === "OFF PLAN") remedy.append(make("p", { text: "Not in this table: " + field.otherwise + "." }));
      else if (goes >= 0 && field.todo[goes].put) remedy.append(putIn(field.todo[goes].put));
    };
  }

  // What a remedy put in, ready to be written down: nothing is until the button is pressed, and
  // pressed again it writes the same line, not a second one.
  function putIn(put) {
    const what = put.what.replace(/_/g, " ") +
      (put.temperature ? ", " + put.temperature.replace(/ ([CF])$/, "\u202f°$1") : "");
    const given = make("input", { type: "text", inputmode: "decimal", class: "digits", autocomplete: "off",
      "aria-label": "Amount of " + what + " put in," + put.unit, value: put.amount });
    const done = make("p", { role: "status" });
    return make("div", {}, make("div", { class: "write" }, given,
      unit(put.unit.trim() + " " + what + " to the " + put.to), button("Write down", () => {
        const one = { kind: "amount", typed: put.unit }, text = typed(one, given.value);
        const every = data.fields.filter((field) => field.list === "brew_day.added");
        const same = every.find((field) => part(field.id, "because") === put.because && part(field.id, "what") === put.what);
        const line = same || every.find((field) => !filled(field));
        if (Number.isNaN(amount(one, text)) || !line) { done.textContent = "Not a number: " + given.value; return; }
        set(line.id, "what", put.what);
        write(line.id, Object.assign({}, kept[line.id], { to: put.to, because: put.because,
          amount: text + (NUMBER.test(text) ? put.unit : ""), temperature: put.temperature || "" }));
        done.textContent = "Written down: " + text + put.unit + " " + what;
      })), done);
  }

  // Who writes, and whether it is kept --------------------------------------------------------

  function head() {
    const state = make("p", { class: "state", role: "status" });
    const line = make("div", { class: "write" }, unit("You"), inputOf(data.me, data.me.parts[0]));
    if (DAY) line.append(make("span", { class: "pair" }, unit(fields[DAY].title), inputOf(fields[DAY], fields[DAY].parts[0])));
    line.append(inputOf(data.me, data.me.parts[1]));
    if (data.timers.length) line.append(button("Try the sound", alarm));
    document.querySelectorAll(".kept").forEach((loses) => loses.remove());
    the("main").prepend(make("section", { class: "written",
      "aria-label": "Who writes, and when" }, state, line));
    onShow("", () => {
      say(state, keeps ? "Kept on this device for copy " + data.copy + (me() && ", " + me()) +
        ". Some browsers forget: save a file too."
        : "This browser keeps nothing when the page is closed. Save a file before you leave it.");
      state.classList.toggle("warn", !keeps);
    });
  }

  // The bar at the top: what is due, and what comes next ------------------------------------------

  function top() {
    const bar = document.querySelector(".now"), [rings, , next, count, left] = bar.querySelectorAll("*");
    bar.hidden = false;
    const things = [...document.querySelectorAll("main .row, main .clock.written-on, main .hold-point li")];
    things.forEach((thing, n) => { thing.id = thing.id || "thing-" + n; });
    onShow("", () => {
      const done = things.map(isDone), last = done.lastIndexOf(true);
      const after = things.find((thing, n) => n > last);
      const before = things.filter((thing, n) => n < last && !done[n]);
      things.forEach((thing) => thing.classList.toggle("next", thing === after));
      say(next, after ? "Next: " + named(after) : "All written");
      if (after) next.setAttribute("href", "#" + after.id);
      left.hidden = !before.length;
      say(left, before.length + " left out");
      if (before.length) left.setAttribute("href", "#" + before[0].id);
    });
    next.addEventListener("click", () => {
      const thing = the(next.getAttribute("href").slice(1));
      const first = thing && thing.querySelector(".digits, button, .ticked input");
      if (first) setTimeout(() => first.focus({ preventScroll: true }), 0);
    });
    let ringing = "";
    function tick() {
      const now = new Date(), open = data.timers.filter((timer) => !isOver(timer)).map((timer) =>
        ({ timer: timer, at: due(timer) })).filter((one) => one.at && Math.abs(one.at - now) < 12 * HOUR);
      const rung = open.filter((one) => one.at <= now), ids = rung.map((one) => one.timer.id).join();
      const coming = open.filter((one) => one.at > now).sort((a, b) => a.at - b.at)[0];
      if (ids !== ringing) {
        rings.textContent = "";
        rings.append(...rung.map((one) => make("div", { class: "write" },
          make("strong", { text: "NOW, " + clock(one.at) + ": " + one.timer.words }),
          button(one.timer.of ? "Done, now" : "Done", () => {
            const of = fields[one.timer.of];
            set(of ? of.id : "done." + one.timer.id, of ? of.main : "at", clock());
            tick();
          }))));
        ringing = ids;
      }
      // For ten minutes after its time, each half minute.
      if (now.getSeconds() % 30 < 1 && rung.some((one) => now - one.at < 10 * MINUTE)) alarm();
      const seconds = coming ? Math.ceil((coming.at - now) / 1000) : 0;
      say(count, coming ? Math.floor(seconds / 60) + ":" + two(seconds % 60) + " to " + coming.timer.words : "");
      // What is jumped to stands below the bar, not behind it.
      document.documentElement.style.scrollPaddingTop = bar.offsetHeight + 8 + "px";
    }
    onShow("", tick);
    setInterval(tick, 1000);
  }

  function isDone(thing) {
    const box = thing.querySelector(".ticked input"), field = fields[thing.dataset.of];
    return Boolean((box && box.checked) || (field && part(field.id, field.main)));
  }
  function named(thing) {
    const expect = thing.querySelector(".expect");
    return thing.querySelector(".clock-title, .ticked > span:last-child").textContent.trim()
      .replace(/^(\d+)(?=[^\d\s])/, "$1 ") + (expect ? " " + expect.textContent.trim() : "");
  }

  let audio = null;
  function listen() {
    const Audio = window.AudioContext || window.webkitAudioContext;
    if (Audio && !audio) audio = new Audio();
  }
  function alarm() {
    if (navigator.vibrate) navigator.vibrate([400, 200, 400]);
    listen();
    if (!audio) return;
    if (audio.state === "suspended") audio.resume();
    const tone = audio.createOscillator(), level = audio.createGain(), now = audio.currentTime;
    tone.frequency.value = 880;
    [0.4, 0, 0.4, 0, 0.4, 0].forEach((loud, n) => level.gain.setValueAtTime(loud, now + n * 0.2));
    tone.connect(level).connect(audio.destination);
    tone.start(now);
    tone.stop(now + 1);
  }
  // A browser lets a page sound once it has been touched.
  document.addEventListener("pointerdown", listen, { once: true });

  // Out of the page -----------------------------------------------------------------------------

  function fileName(end) { return data.batch + "-copy-" + data.copy + (me() && "-" + me()) + end; }
  function save(name, text) {
    const link = make("a", { href: URL.createObjectURL(new Blob([text])), download: name });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  }
  function alike(one, other) {
    return one && other && JSON.stringify(Object.entries(one).sort()) === JSON.stringify(Object.entries(other).sort());
  }
  // Take up from a file what is empty here, and say so. Ours stays as it is.
  function takeUpFile(text) {
    let file = null, taken = 0;
    const ours = [];
    try { file = JSON.parse(text); } catch (error) { /* said below */ }
    if (!file || !file.kept || file.batch === undefined) return "This is not a file of such a page.";
    if (file.batch !== data.batch || file.plan !== data.plan) {
      return "This file is of batch " + file.batch + ", plan " + file.plan + "; this page is of " +
        data.batch + ", plan " + data.plan + ". Nothing taken up.";
    }
    Object.entries(file.kept).forEach(([id, entry]) => {
      if (!sound(id, entry) || (id === "me" && kept.me)) return;
      const field = fields[id] || {};
      const every = field.list ? data.fields.filter((one) => one.list === field.list) : [{ id: id }];
      if (every.some((one) => alike(kept[one.id], entry))) return;
      const free = every.find((one) => !kept[one.id]);
      if (!free) ours.push((field.title || id) + " (file: " + (entry[field.main] || entry.at) + ")");
      else { write(free.id, entry); taken++; }
    });
    return taken + " taken up from copy " + file.copy + "." +
      (ours.length ? " Kept as here: " + ours.join(", ") + "." : "");
  }

  function foot() {
    const words = the("said"), text = the("yaml"), file = the("from-file");
    let erased = {};
    function copied() { words.textContent = "Copied. Paste it at the end of " + data.file + "."; }
    function byHand() {
      text.focus();
      text.select();
      if (document.execCommand && document.execCommand("copy")) copied();
      else words.textContent = "Marked below: copy it by hand.";
    }
    the("copy").addEventListener("click", () => {
      if (navigator.clipboard) navigator.clipboard.writeText(text.value).then(copied, byHand);
      else byHand();
    });
    the("save").addEventListener("click", () => save(fileName(".yaml"), text.value));
    the("save-to-go-on").addEventListener("click", () => save(fileName(".json"), JSON.stringify(
      { batch: data.batch, plan: data.plan, copy: data.copy, kept: kept }, null, 1)));
    file.addEventListener("change", () => {
      if (file.files.length) file.files[0].text().then((found) => {
        words.textContent = takeUpFile(found);
        file.value = "";
      });
    });
    the("really").addEventListener("click", () => {
      erased = Object.assign({}, kept);
      Object.keys(erased).forEach((id) => write(id, {}));
      the("erase").open = the("put-back").hidden = false;
      words.textContent = "Erased.";
    });
    the("put-back").addEventListener("click", () => {
      Object.entries(erased).forEach(([id, entry]) => write(id, entry));
      the("put-back").hidden = true;
      words.textContent = "Put back.";
    });
    the("record-file").textContent = data.file;
    lists();
    notDone();
    the("into-record").hidden = false;
    onShow("", () => {
      text.value = yaml();
      say(the("to-check"), "cat " + data.file + " " + fileName(".yaml") + " | reportgen check -");
      const wrong = data.fields.filter((field) => filled(field) && !field.silent && (notNumber(field) || missing(field)));
      say(the("left-out"), wrong.length ? "Left out, not a number or not complete: " +
        wrong.map((field) => field.title).join(", ") + "." : "");
    });
  }

  // A reading that nobody took, with the reason: a keyboard for digits has no letters for it.
  function notDone() {
    const box = the("not-done"), readings = data.fields.filter((field) => field.reading);
    const [which, why] = box.querySelectorAll("select, input"), done = box.querySelector("p");
    box.hidden = !readings.length;
    which.append(...[{ id: "", title: "which" }].concat(readings).map((field) =>
      make("option", { value: field.id, text: field.title })));
    onShow("", () => [...which.options].forEach((one) => { one.hidden = one.disabled = Boolean(part(one.value, "read")); }));
    box.querySelector("button").addEventListener("click", () => {
      if (!which.value || !why.value.trim()) { done.textContent = "Missing: which or because."; return; }
      done.textContent = fields[which.value].title + " is written down as not done.";
      set(which.value, "read", "not done because " + why.value.trim());
      which.value = why.value = "";
    });
  }

  // What went in or came out beyond the plan: a line more when the last is used.
  function lists() {
    const all = the("lists");
    let title = "", before = null;
    data.fields.filter((field) => field.foot).forEach((field) => {
      if (field.foot !== title) all.append(make("h3", { text: title = field.foot }));
      const box = make("div", {}), above = before && before.list === field.list ? before : null;
      all.append(box);
      build(field, box);
      onShow("", () => { box.hidden = Boolean(above) && !filled(above) && !filled(field); });
      before = field;
    });
  }

  function ticks() {
    const seen = {};
    document.querySelectorAll("main .ticked input").forEach((box) => {
      const words = box.parentNode.textContent.trim(), again = seen[words] = (seen[words] || 0) + 1;
      const id = "tick." + words + "." + again;
      inputs[id + "/on"] = box;
      box.addEventListener("change", () => set(id, "on", box.checked ? "yes" : ""));
    });
  }

  // Enter goes on to the next blank, as a finger does down the sheet.
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !event.target.matches(".row .digits")) return;
    const all = [...document.querySelectorAll(".row .digits")].filter((one) => one.offsetParent);
    const after = all[all.indexOf(event.target) + 1];
    if (after) after.focus();
  });

  document.documentElement.classList.add("writing");
  readKept();
  ticks();
  data.fields.forEach((field) => { if (field.parts && !field.foot && !field.day) build(field); });
  head();
  foot();
  top();
  refresh();
  addEventListener("storage", (event) => {
    if (!event.key || !event.key.startsWith(prefix)) return;
    const id = event.key.slice(prefix.length);
    if (event.newValue === null) delete kept[id]; else takeUp(id, event.newValue);
    refresh(id);
  });
  addEventListener("beforeunload", (event) => { if (!keeps && yaml()) event.preventDefault(); });
}());
