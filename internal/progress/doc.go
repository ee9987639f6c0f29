// Package progress says what a player's rounds show over time: the share of known answers, notes as sung at first touch,
// response time, how centred and steady the takes are, what phrase length and leaps are mastered, where the trouble is,
// and what to sing next, with the reason.
//
// [Of] is pure: plain rows in, values and sentences out. [Row] makes the row of a judged round. The rows may come from a journal,
// from a folder of rounds, or from anywhere else.
//
// # What counts
//
//   - An answer is known, searched or unsure as it was judged. Shares of known answers leave unsure ones out and say how
//     many there were.
//   - A note was played as sung at first touch where its verdict is same and no correction, creep, restart or touch leads to
//     it. A note is a trouble where its verdict is different or left out, or where any evidence leads to it.
//     Unclear notes have no say in either.
//   - A round held where the answer was known and no note is different or left out. It did not hold where the answer was
//     searched for or such a note stands in it. Otherwise it is open and has no say in what is mastered and in what is
//     proposed. Open is also a round in pieces, one in which something was heard again before the answer, and one whose voice is
//     unclear in a third of its notes and at least two.
//   - An answer in pieces is no known, searched or unsure one; its notes are right or wrong like any other's, and going back in it is no
//     restart. Response times are those of answers in one piece before which nothing was heard again and nothing written down.
//   - A link between voice and fingers (package steps) counts where the player wrote the steps down: the voice in rounds that the player
//     sang, the others in those that the player played.
//   - Rounds that the player marked as misheard are no rows at all.
//   - A session ends where no round begins for [SessionGap].
//   - Only rounds in which the player played count for answers, and only those in which the player sang for takes.
//
// # What is claimed, and when
//
// Nothing is claimed from fewer than [Least] rounds: of 10 rounds of which 8 are known, the 95 % interval of the share is
// 49 to 94 %. Shares have Wilson's interval; times and cents have quartiles; the recent response time has an interval by
// the bootstrap over sessions. A trend is claimed from ten points on, where Mann and Kendall's test gives P < 0.01
// (0.05 over the number of trends that are looked at, which is five without written steps); its size is Theil and Sen's slope. A degree, interval, key or place is named where the
// interval of the difference to all others (Newcombe 1998, method 10, widened for the number of comparisons after
// Bonferroni) lies above zero and the difference is at least ten points. A round counts once for each of them: the notes of
// one round are not independent.
//
// A link fails more than the others by the same rule, from Least rounds on. Where it fails, a degree, an interval or a key, needs eight rounds
// of that place alone, since steps are written down rarely and keys are many: the share there must lie above the link's own in all, at the lower end of
// Wilson's interval and by ten points above that elsewhere, and Fisher's exact test, after Bonferroni over all places of all links, must not
// explain it by chance. Where a link failed as a whole it is counted by key alone.
//
// # What to sing next
//
// The size is that of package plan after the rounds that held or did not ([Tries]): practice proposes the same after the same rounds. The keys
// and the tempo are added here: the key that goes wrong, or in which a link fails, a key that has rested, and, where the
// ladder of sizes ends, a step of tempo.
//
// # Conventions
//
// Times are seconds, deviation is in cents, tempo in quarter notes a minute, intervals in semitones (up is positive). A
// quantity that is not known is NaN.
//
// # Non-goals
//
// No reading of journals or files, no plots, no comparison of players with one another, no content of the next phrase: the
// player invents that.
package progress
