// Sorting and finding in the tables of the ledger. Everything is on the page without it. What is
// chosen stands in the address, so that a view can be kept and sent: #batches.find=pale&batches.sort=...
(function () {
  "use strict";

  // The address after its #, as names and values; a plain name of a place has none.
  function chosen() {
    return new URLSearchParams(location.hash.indexOf("=") < 0 ? "" : location.hash.slice(1));
  }

  function remember(table, what, value) {
    var all = chosen();
    if (value) all.set(table.id + "." + what, value);
    else all.delete(table.id + "." + what);
    var words = all.toString();
    // An empty hash would jump to the top; the address without one is the page as printed.
    history.replaceState(null, "", words ? "#" + words : location.href.split("#")[0]);
  }

  // A column is named by its heading: it keeps its name when another is put before it.
  function named(table, value) {
    var parts = /^(.*) (up|down)$/.exec(value || "");
    var column = parts ? headings(table).indexOf(parts[1]) : -1;
    return column < 0 ? "" : column + " " + parts[2];
  }

  function text(cell) {
    return cell.dataset.sort !== undefined ? cell.dataset.sort : cell.textContent.trim();
  }

  function compare(a, b) {
    // What is empty comes last in either direction; numbers by value, all else as words.
    if (a === "" || b === "") return a === b ? 0 : a === "" ? 1 : -1;
    var x = Number(a.replace("\u2212", "-")), y = Number(b.replace("\u2212", "-"));
    if (!isNaN(x) && !isNaN(y)) return x - y;
    return a < b ? -1 : a > b ? 1 : 0;
  }

  function sort(table, column, down) {
    var body = table.tBodies[0];
    var rows = Array.prototype.map.call(body.rows, function (row, place) {
      return { row: row, place: place, key: text(row.cells[column]) };
    });
    rows.sort(function (a, b) {
      var order = compare(a.key, b.key);
      if (down && a.key !== "" && b.key !== "") order = -order;
      return order || a.place - b.place;
    });
    rows.forEach(function (entry) { body.appendChild(entry.row); });
    Array.prototype.forEach.call(table.tHead.rows[0].cells, function (head, place) {
      if (place === column) head.setAttribute("aria-sort", down ? "descending" : "ascending");
      else head.removeAttribute("aria-sort");
    });
  }

  function headings(table) {
    return Array.prototype.map.call(table.tHead.rows[0].cells, function (head) {
      return head.textContent.trim();
    });
  }

  function labelled(words, control, kind) {
    var label = document.createElement("label");
    label.className = kind;
    label.append(words, control);
    return label;
  }

  function sorting(table, tools) {
    var choice = document.createElement("select");
    choice.append(new Option("as printed", ""));
    headings(table).forEach(function (title, column) {
      choice.append(new Option(title, column + " up"), new Option(title + ", falling", column + " down"));
    });
    var printed = Array.prototype.slice.call(table.tBodies[0].rows);
    function tell() {
      var parts = choice.value.split(" ");
      remember(table, "sort", parts[1] ? headings(table)[Number(parts[0])] + " " + parts[1] : "");
    }
    choice.addEventListener("change", function () {
      tell();
      if (choice.value === "") {
        printed.forEach(function (row) { table.tBodies[0].appendChild(row); });
        Array.prototype.forEach.call(table.tHead.rows[0].cells, function (head) {
          head.removeAttribute("aria-sort");
        });
        return;
      }
      var parts = choice.value.split(" ");
      sort(table, Number(parts[0]), parts[1] === "down");
    });
    tools.append(labelled("Sort by", choice, "sorting"));
    Array.prototype.forEach.call(table.tHead.rows[0].cells, function (head, column) {
      var button = document.createElement("button");
      button.type = "button";
      button.textContent = head.textContent.trim();
      button.addEventListener("click", function () {
        var down = head.getAttribute("aria-sort") === "ascending";
        sort(table, column, down);
        choice.value = column + (down ? " down" : " up");
        tell();
      });
      head.textContent = "";
      head.append(button);
    });
    return function () {
      choice.value = named(table, chosen().get(table.id + ".sort"));
      choice.dispatchEvent(new Event("change"));
    };
  }

  function finding(table, tools) {
    var field = document.createElement("input");
    field.type = "search";
    field.autocomplete = "off";
    var shown = document.createElement("p");
    shown.className = "shown";
    shown.setAttribute("role", "status");
    var rows = Array.prototype.map.call(table.tBodies[0].rows, function (row) {
      return { row: row, words: row.textContent.toLowerCase() };
    });
    function find() {
      var wanted = field.value.toLowerCase().split(/\s+/);
      var left = 0;
      rows.forEach(function (entry) {
        var fits = wanted.every(function (word) { return entry.words.indexOf(word) >= 0; });
        entry.row.hidden = !fits;
        if (fits) left += 1;
      });
      shown.textContent = left + " of " + rows.length + " shown";
    }
    field.addEventListener("input", function () {
      remember(table, "find", field.value);
      find();
    });
    tools.prepend(labelled(table.dataset.find, field, "finding"));
    tools.append(shown);
    return function () {
      field.value = chosen().get(table.id + ".find") || "";
      find();
    };
  }

  document.querySelectorAll("table[data-find]").forEach(function (table) {
    var tools = document.createElement("div");
    tools.className = "tools";
    var again = [finding(table, tools), sorting(table, tools)];
    table.before(tools);
    function show() { again.forEach(function (one) { one(); }); }
    show();
    window.addEventListener("hashchange", show);
  });
})();
