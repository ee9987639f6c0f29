// Package stats holds the few statistics that larkhand says something with: intervals for shares and their
// differences, quartiles, a straight line that outliers do not move, a test for a trend, and the bootstrap.
//
// # What is here
//
//   - [Wilson]: the interval of a share (Wilson 1927; preferred for small numbers by Newcombe 1998, Statistics in
//     Medicine 17, 857).
//   - [ShareDifference]: the interval of the difference of two shares (Newcombe 1998, Statistics in Medicine 17, 873,
//     method 10).
//   - [MoreThan]: whether a share is larger than another one by chance, for numbers too small for an interval (Fisher 1935, The Design of
//     Experiments, chapter 2).
//   - [Quantile], [Quartiles]: type 7 of Hyndman and Fan 1996 (The American Statistician 50, 361), which most programs
//     use.
//   - [TheilSen]: the median of the slopes between all pairs (Theil 1950; Sen 1968, JASA 63, 1379).
//   - [MannKendall]: the rank test for a trend (Mann 1945; Kendall 1975), with the correction for ties.
//   - [Bootstrap]: the percentile interval, whole clusters drawn (Efron 1979; Davison and Hinkley 1997, 3.8).
//
// # Conventions
//
// Shares are 0 to 1. Intervals are two-sided and hold both ends. Of nothing, a number is NaN and a share's interval is
// 0 to 1. NaN among the values is the caller's mistake and not looked for. No slice given is changed.
//
// # Non-goals
//
// No means and standard deviations: times and cents of players have long tails. No models, no plots. [TheilSen] and
// [MannKendall] look at all pairs: they are for hundreds of points, not for hundreds of thousands.
package stats
