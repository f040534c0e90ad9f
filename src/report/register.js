(function () {
  "use strict";
  var box = document.querySelector("[data-search]");
  if (!box) return;
  var input = box.querySelector("input"), told = box.querySelector("output");
  var rows = Array.prototype.slice.call(document.querySelectorAll("[data-row]"));
  var groups = Array.prototype.slice.call(document.querySelectorAll("[data-group]"));
  var texts = rows.map(function (row) { return (row.textContent + " " + row.getAttribute("data-row")).toLowerCase(); });
  function filter() {
    var words = input.value.toLowerCase().split(/\s+/).filter(Boolean), shown = 0;
    rows.forEach(function (row, index) {
      row.hidden = !words.every(function (word) { return texts[index].indexOf(word) >= 0; });
      if (!row.hidden) shown += 1;
    });
    groups.forEach(function (group) { group.hidden = words.length > 0 && !group.querySelector("[data-row]:not([hidden])"); });
    told.textContent = words.length ? shown + " of " + rows.length + " shown" : "";
  }
  input.addEventListener("input", filter);
  box.hidden = false;
  filter();
})();
