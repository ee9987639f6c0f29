// Package page is the frame of the pages that larkhand writes: one HTML file that opens offline in any browser, in light and dark and
// on paper, by keyboard and with a screen reader, and that asks nothing of any other place.
//
// # Conventions
//
// A page is made of a title, a body (HTML that the caller made with html/template, so that all names are escaped) and, where it has
// notation, the script that draws it. A Content-Security-Policy in the page allows no script but the two of this package, by their
// checksums, and no address at all: sounds and pictures are part of the file.
//
// Notation is an element <div class="notation" data-abc="..."> with text in ABC notation and in words in data-words; it is drawn when the
// page opens. A sound (<audio>) with data-picture, data-line, data-zero and data-scale moves a line in a picture; see script.js.
//
// The classes that a body may use stand in style.css. abcjs, which draws the notation, is embedded with its licence (MIT); the version
// and where it is from stand in its first line.
//
// # Non-goals
//
// Nothing is judged, drawn or counted here, and no file is opened.
package page
