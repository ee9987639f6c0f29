// Package voice turns the sound of a sung phrase into pitch frames and notes.
//
// The way of the data: samples are resampled to 16 kHz (internal/resample) and
// measured every 10 ms (internal/front): pitch candidates by autocorrelation
// and a harmonic comb, levels, mel bands. A path through the candidates is the
// pitch (internal/track). A small trained network marks where notes begin and
// end (internal/marks), a segmental search lays the notes (internal/segment),
// and a moving reference tells which semitone each was meant as (reference.go).
//
// Conventions: times are seconds since the first sample; frame n is centred at
// n*Hop; a note holds its onset but not its offset. Pitch is a MIDI number as a
// float (69.25 is A4 plus 25 cents), frequency Hz, level dBFS, deviations cents.
// No input gives no frames and no notes. A take gives the same result however
// its samples are cut into blocks, live or from a file.
//
// What helped and what did not, measured on sight-singing families that the
// network had not met (three folds of the tuning side, 801 notes; COn and
// NSERtol as in internal/metrics) and on other rendered singers (NSERtol):
//
//	change                                            COn   NSERtol  singers
//	network trained on clips alone                    .916  .060     .101
//	and on rendered singers (120 takes)               .908  .055     .059
//	repeated notes merged, of all, by that            13 -> 6 %
//	only 19 clips beside the singers (largest family out)  .818  .140: too few real voices
//	longer training (4,800 steps, 240 takes, 6 copies)  kept in use
//	a third of the singers in runs of 80 ms, more noise   tune side .929 -> .924: not kept
//	shortest note 40 ms, pitch weight 0.16, a step between two even pitches  tuning side: hummed slurs .132 -> .054, COn .929 -> .928
//	marks weigh 2.6, pitch 0.2                        hummed slurs .054 -> .051, runs of 125 ms .347 -> .333, clips .0463 -> .0450
//	true marks in place of the network's, runs of 100 ms  NSERtol .53 -> .07: the marks lose these notes, not the pitch
//	a sharper voicing edge by the 20 ms level         false voicing .054 -> .045 at .3 % recall: not kept
//	frames that are hardly inside a note unvoiced     three folds: false voicing .088 -> .083 at .15 % recall: not kept
//
// Non-goals: several voices at once; knowing what should have been sung (a
// note never depends on the answer or on the other take); words.
package voice
