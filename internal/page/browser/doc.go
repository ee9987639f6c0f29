// Package browser opens pages in a Chromium without a window, for tests: it tells what a page asks of the outside and what went wrong in it,
// runs scripts in it, and takes pictures of it.
//
// # Conventions
//
// The program is driven by the Chrome DevTools Protocol over a pipe, so that no port is opened. [Open] skips the test with a sentence
// where no Chromium is installed; what cannot be done fails the test. Waiting has one generous limit, [Patience], since the machine may be busy.
//
// # Non-goals
//
// It is no general driver: pages are files of this machine, one tab each.
package browser
