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
//     proposed.
//   - A session ends where no round begins for [SessionGap].
//   - Only rounds in which the player played count for answers, and only those in which the player sang for takes.
//
// # What is claimed, and when
//
// Nothing is claimed from fewer than [Least] rounds: of 10 rounds of which 8 are known, the 95 % interval of the share is
// 49 to 94 %. Shares have Wilson's interval; times and cents have quartiles; the recent response time has an interval by
// the bootstrap over sessions. A trend is claimed from ten points on, where Mann and Kendall's test gives P < 0.01
// (five to seven trends are looked at); its size is Theil and Sen's slope. A degree, interval, key or place is named where the
// interval of the difference to all others (Newcombe 1998, method 10, widened for the number of comparisons after
// Bonferroni) lies above zero and the difference is at least ten points. A round counts once for each of them: the notes of
// one round are not independent.
//
// # The staircase, and how soft it is
//
// What to sing next aims at about 85 % of rounds that hold. The number is soft: Wilson, Shenhav, Straccia and Cohen 2019
// (Nature Communications 10, 4646) derive an error rate of 15.87 %, the normal tail below -1, for gradient learning of
// tasks with two choices, and neither melodies nor hands are that. It is near where a staircase that goes up after four
// successes settles (0.5^(1/4) = 84.1 %, Levitt 1971, JASA 49, 467). The rule here is own: it looks at the last [Least]
// rounds of the size that is sung now or one note longer, goes up one step where at least 85 % held and the last four did, goes down
// where fewer held than 70.7 % (Levitt's level of two successes in a row), and otherwise stays. Simulated players of
// fixed ability then spend their rounds where 84 to 86 % hold (TestStaircaseSettlesNearTheAim). Why one number
// and not another within ten points would suit a player better is not known.
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
