// Search over the pages of the manual, by the index in this page. A place is found when each word
// typed begins one of its words; it stands the higher the more of them its name has.
(function () {
  "use strict";
  var index = JSON.parse(document.getElementById("index").textContent);
  var field = document.getElementById("wanted"), list = document.getElementById("found");
  var told = document.getElementById("told"), MOST = 50;

  function begins(words, wanted) {
    return (" " + words).indexOf(" " + wanted) >= 0;
  }

  function plain(text) {
    return text.toLowerCase().replace(/[^\p{L}\p{N}]+/gu, " ").trim();
  }

  // Found by name, or by the key that its address ends with, it stands before what only tells of it.
  function weight(place, wanted) {
    var name = plain(place[1]), whole = plain(wanted.join(" "));
    if (name === whole || plain(place[0]).endsWith(" " + whole)) return 100;
    return wanted.filter(function (word) { return begins(name, plain(word)); }).length;
  }

  function find() {
    var wanted = [], hits = [];
    // Dashes before an option and quotes round a word are not part of it.
    field.value.toLowerCase().split(/\s+/).forEach(function (word) {
      word = word.replace(/^[^\p{L}\p{N}]+|[^\p{L}\p{N}]+$/gu, "");
      if (word) wanted.push(word);
    });
    history.replaceState(null, "", wanted.length ? "#" + new URLSearchParams({ q: field.value }) : location.pathname);
    index.forEach(function (page) {
      if (!wanted.length) return;
      page[2].forEach(function (place) {
        if (wanted.every(function (word) { return begins(place[2], word); })) {
          hits.push({ page: page, place: place, weight: weight(place, wanted), order: hits.length });
        }
      });
    });
    hits.sort(function (a, b) { return b.weight - a.weight || a.order - b.order; });
    list.replaceChildren.apply(list, hits.slice(0, MOST).map(function (hit) {
      var item = document.createElement("li"), link = document.createElement("a");
      link.href = hit.page[0] + (hit.place[0] ? "#" + hit.place[0] : "");
      link.textContent = hit.place[1];
      item.append(link);
      if (hit.place[1] !== hit.page[1]) {
        var where = document.createElement("span");
        where.className = "soft";
        where.textContent = " " + hit.page[1];
        item.append(where);
      }
      return item;
    }));
    told.textContent = !wanted.length ? "Type one word or more; the beginning of a word is enough." :
      hits.length === 0 ? "Nothing found." :
      hits.length === 1 ? "1 place." :
      hits.length > MOST ? hits.length + " places, the first " + MOST + " shown." : hits.length + " places.";
  }

  document.getElementById("search-form").addEventListener("submit", function (event) { event.preventDefault(); });
  field.addEventListener("input", find);
  field.value = new URLSearchParams(location.hash.slice(1)).get("q") || "";
  find();
  field.focus();
})();
