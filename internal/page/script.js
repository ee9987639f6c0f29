"use strict";
// Draws the notation, moves a line through a picture while its sound plays, and lets one sound play at a time.
(function () {
  function drawNotation() {
    document.querySelectorAll(".notation").forEach(function (box) {
      ABCJS.renderAbc(box, box.dataset.abc, {
        add_classes: true,
        ariaLabel: box.dataset.words,
        foregroundColor: "currentColor",
        jazzchords: false,
        paddingleft: 0, paddingright: 0, paddingtop: 6, paddingbottom: 6,
        responsive: "resize",
        staffwidth: 760,
        format: { gchordfont: "sans-serif 13", vocalfont: "sans-serif 13", annotationfont: "sans-serif 13" },
      });
    });
  }

  // follow moves the line of a picture: x = zero + scale * seconds, in the units of the picture.
  function follow(sound) {
    var picture = document.getElementById(sound.dataset.picture);
    var line = picture && picture.querySelector(".playhead." + sound.dataset.line);
    if (!line) return;
    var zero = Number(sound.dataset.zero), scale = Number(sound.dataset.scale);
    var frame = 0;
    function move() {
      line.setAttribute("transform", "translate(" + (zero + scale * sound.currentTime).toFixed(1) + ",0)");
      if (!sound.paused) frame = requestAnimationFrame(move);
    }
    sound.addEventListener("play", function () {
      line.classList.add("seen");
      cancelAnimationFrame(frame);
      move();
    });
    sound.addEventListener("seeked", function () { cancelAnimationFrame(frame); move(); });
    sound.addEventListener("ended", function () { line.classList.remove("seen"); });
  }

  function oneAtATime(sounds) {
    sounds.forEach(function (sound) {
      sound.addEventListener("play", function () {
        sounds.forEach(function (other) { if (other !== sound) other.pause(); });
      });
    });
  }

  // Paper shows what is folded away on the screen.
  function unfoldForPaper() {
    var folded = [];
    addEventListener("beforeprint", function () {
      folded = Array.from(document.querySelectorAll("details.paper:not([open])"));
      folded.forEach(function (d) { d.open = true; });
    });
    addEventListener("afterprint", function () { folded.forEach(function (d) { d.open = false; }); });
  }

  if (window.ABCJS) drawNotation();
  var sounds = Array.from(document.querySelectorAll("audio"));
  sounds.forEach(follow);
  oneAtATime(sounds);
  unfoldForPaper();
})();
