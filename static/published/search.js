// The search of a published site: a classic script, since a page that is opened from a disk loads no modules and fetches nothing.
// The list stands in the page; this shows the lines that hold every word, or words that begin so.
(function () {
  var field = document.getElementById("find");
  var told = document.getElementById("found-told");
  var lines = Array.prototype.slice.call(document.querySelectorAll("#found > li"));
  var words = lines.map(function (line) {
    return " " + line.getAttribute("data-words");
  });
  function narrow() {
    var asked = field.value.toLowerCase().split(/\s+/).filter(Boolean);
    var shown = 0;
    lines.forEach(function (line, n) {
      var fits = asked.every(function (word) {
        return words[n].indexOf(word) >= 0;
      });
      line.hidden = !fits;
      shown += fits ? 1 : 0;
    });
    told.textContent = asked.length ? shown + " found" : "";
  }
  field.hidden = false;
  field.addEventListener("input", narrow);
  narrow();
})();
