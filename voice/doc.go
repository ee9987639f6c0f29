// Package voice turns the sound of a sung phrase into pitch frames and notes.
//
// The way of the data: samples are resampled to 16 kHz (internal/resample) and
// measured every 10 ms (internal/front): pitch candidates by autocorrelation
// and a harmonic comb, levels, mel bands. A path through the candidates is the
// pitch (internal/track). A small trained network marks where notes begin and
// end, with a second one for fast singing (internal/marks), a segmental search lays the notes (internal/segment),
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
// Faster notes, noise and halls: trainings of 9,600 steps, each family of clips scored by networks that had not met it (801 notes
// outside the largest family, two or three seeds of each; NSERtol of runs of 150, 125 and 100 ms a note, phrases of the tuning half):
//
//	change                                            COn   NSERtol  repeats merged  runs
//	the present recipe, longer                        .908  .062     9.6 %           .16 .41 .64
//	15 % copies of clips with 80 to 220 ms a note: middles of vowels cut out, attacks kept  .911  .060  9.6 %  .03 .06 .12
//	10 % rendered runs in place of that               .910  .060     9.1 %           .04 .06 .13, but "la" split, .00 -> .03
//	a third more clips in noise (4 to 20 dB) and halls (0.3 to 2.4 s) beside the fast ones  .909  .061  8.1 %  .03 .06 .11; hall .178 -> .154
//	white and pink noise at 10 dB by that             +.036, +.039 above clean before, +.042, +.040 after: no cure
//	that with dropout .25, jitter .2                  .912  .058     9.6 %           .02 .05 .11 (trained on all clips)
//	40 or 48 channels                                 no gain
//	usual length by the take's own pace, under 0.2 s  clips the same, runs of 100 ms .113 -> .100 (present weights: .551 -> .514)
//	all of it but the rendered runs, once on the clips kept apart  COn .955 -> .961, repeats merged 4.6 -> 3.8 %, NSERtol as before;
//	                                                  but spurious notes .7 -> .9, right notes blamed 0 -> 3 of 1306: not alone
//
// Two networks, the former ("steady") and that one ("runs"), put together (11 clips outside the largest family, each marked by networks
// that had not met its family, mean of three seeds; runs as above):
//
//	put together                                      NSERtol clean, white, pink noise, hall; spurious  runs of 150, 125, 100 ms
//	steady alone                                      .051 .076 .083 .233; 1.9   .127 .324 .514
//	runs alone                                        .060 .076 .082 .217; 1.8   .022 .049 .100
//	runs for takes whose beginnings lie under 0.25 s apart by the runs network  clips as steady   .027 .049 .100
//	- by the steady network                           .068 .120 .237: it misses just these
//	runs from the first to the last of four beginnings that lie so near  clips as steady   .031 .049 .100: a take may be slow and fast
//	and elsewhere the mean of both, .35 of runs       .050 .076 .080 .227; 1.6   .027 .049 .100; scat .005 -> .003, scoops .036 -> .029
//	and in noise a beginning that either marks        .050 .066 .078 .222; 1.6   as before; hum .057 -> .061: kept
//	pitch of a note of 150 ms at most with few voiced frames searched for anew (all renderers, weights as stored)
//	                                                  runs .028 .064 .111 -> .025 .039 .074; of longer notes too: hall .219 -> .223
//
// Non-goals: several voices at once; knowing what should have been sung (a
// note never depends on the answer or on the other take); words.
package voice
