// Package hunt says whether an answer was known or searched for by trial and error, and shows its evidence.
//
// Find takes a sung phrase, the notes that were played, and their alignment. It looks for corrections, creeps,
// hesitations, restarts and touches, and gives the probability that the answer was searched for, a label (known, unsure,
// searched) and the evidence, each with its place, its notes, its weight and one sentence for the player.
//
// # Method
//
// The model (own) is one sum, read from weights.go:
//
//	log-odds(searched) = -2 + 3 probe + 1.75 creep + 2.75 replay + 3 hesitation + 3.25 touch
//
// Each term adds strengths between 0 and 1 (hesitation: 2), and has a cap. Weights were fitted on half of the pianists of
// Tominaga, Knoblich and Sebanz 2022 (Scientific Reports 12, 21296, experiment 1) and half of 299 jazz solos of the
// Weimar Jazz Database, with generated search, at even odds of known and searched; Options.PriorLogOdds moves the odds.
//
//   - An extra note counts by how far it lies from the nearest right onsets: not at all up to 70 ms (a slip of the hand),
//     wholly from 150 ms on. Where it repeats one of these keys it is 200 and 350 ms (a key bounces). Of real extra notes
//     within 70 ms the next right note stays on time; beyond 124 ms it nearly always comes late.
//   - It keeps a fifth of that where the next right note is on time, or the phrase was complete before.
//   - Extra notes are a creep where two or more lead up to the target by one or two semitones a step; a replay where they
//     repeat neighbouring notes of the phrase, or the one before or after; a touch where one is soft (under 0.6 of its
//     neighbours' velocity) and under 100 ms long; else probes. A player reads a probe as "correction", a replay as "restart".
//   - A hesitation is an interval later than 250 ms + 0.4 expected + 1.1 (expected - 0.8 s, where longer). Expected is the
//     sung interval times the tempo ratio (tempo.go).
//   - Left out of account: notes chained to a right one by gaps of at most 60 ms (slips, chords, rolls), notes a third or
//     more away that are held into the target (a second voice), bounces of a neighbour's key, false triggers of a guitar
//     converter, and every extra note beside an unclear sung note.
//   - A wrong key that is kept, a note left out, a transposition, the octave, an even slow tempo, unevenness and the wait
//     before the first note have no say.
//
// Added to the model as it was fitted, each marked "own" in weights.go:
//
//  1. The first complete run through the phrase is the answer, even if it is played again.
//  2. Extra notes that cost no time count together at most 0.4: who embellishes in the flow does not search.
//  3. A key that repeats a right one is measured against that one too, and a soft one like any other: of 18 real cases
//     where a right key was struck again 6 were over .5 without this, 2 with it.
//  4. A single try before the first note counts 0.45 unless it is a neighbouring key that was left quickly: the voice
//     tracker may have lost a note there. One lost sung note: 18 % over .5 without this, 8 % with it; one generated
//     correction 85 % and 78 %.
//  5. Intervals played more than 2.5 times faster than sung have no say in the tempo, and where at least 35 % are late, none
//     by more than a swung note, hesitations are measured with the longer notes' tempo. Long-short up to 2:1: 7 % over .5
//     without this, 4 % with it; hesitations of strength 2: 84 % and 82 %.
//  6. A note is paired with an earlier one of its key where that fits the rhythm clearly better. Slips and rolled chords
//     that hold the key before: 1.8 % and 3.9 % over .5 without this, 0.1 % and 0.9 % with it.
//
// # What was measured
//
// Command: go test -v -run Measure ./hunt/simulate (it needs the data; percent of cases with p over .5 and over .8).
//
//	real fluent phrases of 3 to 12 notes, 984 performances        over .5   over .8   evidence shown
//	median rhythm as singer, onset noise 20 ms (9,031)              0.04      0.00      0.06
//	30 ms (9,059)                                                   0.12      0.00      0.14
//	40 ms (8,978)                                                   0.40      0.12      0.60
//
//	real errors of trained pianists
//	slips within 70 ms 0 of 37; soft fingers far away 0 of 7; right key again 2 of 18; several extra keys 3 of 5;
//	from the top again 3 of 3; another single key 0 of 2 (no label says which of these are search)
//
//	generated, phrases of real solos (852), real timing, 30 ms     strength 1   2          3
//	correction                                                     78 (20)      99 (99)    100 (100)
//	creep                                                          99 (95)      100 (100)  100 (100)
//	hesitation                                                     40 (7)       81 (77)    83 (81)
//	restart                                                        96 (50)      98 (73)    99 (79)
//	touch                                                          65 (0)       99 (91)    99 (96)
//	(a hesitation before most notes of a short phrase is a slow tempo: 24 to 30 % in 3 notes, 94 to 100 % from 7 notes on)
//
//	look-alikes, over .5 (over .8): all together 1.2 (0.3); sung note lost 6.5 (0.2), long-short 5.2 (2.2),
//	rubato 1.8 (0.4), finger laid in a rest 1.1 (0.7), rolled chord, slow tempo 0.9 (0.4), the others under 0.5
//
// Reliability, half searched (all kinds and strengths), half known (half of these look-alikes):
//
//	p up to   0.20   0.35   0.50   0.65   0.80   0.95   1.00
//	mean p    0.12   0.29   0.42   0.58   0.72   0.87   0.99
//	true      0.06   0.64   0.90   0.91   0.98   0.99   1.00
//
// The probability is not calibrated between .2 and .8. Use that band as "cannot be told" and never show it as a
// percentage. Searching here is generated: nobody in these data searched for a tune, so how much real searching is found
// is not known. The performances that the false alarms were counted on were in view when the ramps were set.
//
// # Conventions
//
// Times are in seconds, the evidence's on the answer's clock. Notes may come in any order; indices are the caller's. A
// probability below .5 is Known, above .8 Searched. Where the label is Known, evidence is listed from a weight of 1.5
// log-odds on, else from 0.5, so that a faultless answer shows none. Weights of the listed evidence add up to no more than
// the model's sum. An interval's hesitation that went by during tries adds to their weight and is not listed by itself. Where no
// clear sung note was answered nothing can be told: Unsure, at the prior's probability.
//
// # Non-goals
//
// The package judges neither right and wrong notes (package match does) nor rhythm, dynamics or touch for their own
// sake. It does not measure the response time. It learns nothing about the player.
package hunt
