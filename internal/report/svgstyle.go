package report

// svgStyle is the look: ink on paper, degree lines thin, one accent for "as sung" and one for "look here". The two
// colour sets have at least 4.5:1 contrast for text (WCAG 2.1, 1.4.3; computed with its formula in the test).
const svgStyle = `
.sheet{--paper:#faf8f3;--ink:#23282d;--soft:#666a6c;--rule:#d5d1c6;--tonic:#96917f;--sung:#0a6a72;--look:#a3401b;
font-family:"DejaVu Sans",Verdana,sans-serif;background:var(--paper)}
@media (prefers-color-scheme:dark){.sheet{--paper:#15181b;--ink:#e4e1d8;--soft:#a2a49f;--rule:#353a3e;--tonic:#727568;--sung:#5cc3c4;--look:#f09a6c}}
.sheet .paper{fill:var(--paper)}
.sheet text{fill:var(--ink);font-size:12px}
.sheet .mid{text-anchor:middle}.sheet .end{text-anchor:end}
.sheet .head{font-size:15px;font-weight:bold}
.sheet .soft{fill:var(--soft);font-size:11px}
.sheet .number{font-weight:bold;font-size:13px}
.sheet .rule{stroke:var(--rule);stroke-width:1}
.sheet .tonic{stroke:var(--tonic);stroke-width:1.4}
.sheet .tick{stroke:var(--soft);stroke-width:1}
.sheet .curve{fill:none;stroke:var(--ink);stroke-width:1.3;stroke-linejoin:round;stroke-linecap:round}
.sheet .earlier{fill:none;stroke:var(--soft);stroke-width:1.1;stroke-dasharray:2.5 2.5;stroke-linejoin:round}
.sheet .note{stroke:var(--ink);stroke-width:2.2;fill:none}
.sheet .same{stroke:var(--sung)}.sheet .look{stroke:var(--look)}
.sheet circle.same.full{fill:var(--sung)}.sheet circle.open{fill:var(--paper)}
.sheet .thread{stroke-width:1;fill:none;opacity:.75}.sheet .thread.look{stroke-dasharray:4 3}
.sheet .mark{stroke-width:2;fill:none}
.sheet text.same{fill:var(--sung);stroke:none;font-size:11px}.sheet text.look{fill:var(--look);stroke:none;font-size:11px}
.sheet .bracket{stroke:var(--look);stroke-width:1.4;fill:none}
`
