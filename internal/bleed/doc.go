// Package bleed takes a known backing out of a take: the loop that the program sent to the speaker and that the microphone heard beside
// the voice. It says how loud the backing was, how much of it is left, and what the take is still good for.
//
// # The way of the data
//
// Take and backing are brought to 16 kHz (resample.go). The delay is the peak of the generalized cross-correlation with phase
// transform (delay.go); the skew of the two clocks is the slope of the lag against time (skew.go). Where nobody sings is looked for
// at 8 kHz if it is not told (free.go). A path of half a second is
// fitted by least squares there (path.go), where need be with the square and cube of the backing for a bad
// speaker. The predicted bleed is subtracted. A slow Kalman filter (kalman.go) tells whether the path moved since; if so, lost
// samples are looked for (jump.go), else a fast filter follows the path forwards and backwards. judge.go turns bleed level,
// leak and drift into a residual and a verdict. Live does the same block by block with two filters side by side. Learn serves a backing
// that is known only by ear: it is learned from its own voice-free repeats in the microphone.
//
// # Conventions
//
// Times are seconds on the take's clock, levels and ratios dB of power, samples relative to full scale. A span holds its start but not its
// end. The skew is positive where the microphone's clock is the slower one. Cleaned samples keep the take's times. Where
// there is no bleed, or less than can do harm, the samples come back as they were given. The same input gives the same result.
//
// # Departures from the papers
//
//  1. The filter's measurement noise is smoothed over blocks with a constant (0.6), and the doubt falls along the path.
//  2. Bin 0 of a spectrum stands for the lowest and the highest bin together; their noise and doubt are shared.
//  3. The two directions of the fast filter are averaged with equal weights.
//
// # Time
//
// Nearly all of the time goes into transforms. Blocks are transformed two at a time without putting their bins in order (package fft). Without
// a voice-free stretch half of the time was the search for one. At half the rate, each round beginning where the one before ended, it takes
// less than half of that, and its rounds come nearer to their end: those that begin at zero leave more of a loop that is not heard from its
// beginning, which then hides voice-free stretches. A transform half as long for the search of the delay was tried and left: backings
// just above the least that is heard lost a tenth of the sharpness of their peak.
//
// # Non-goals
//
// No backing of two different channels from two speakers, no unknown backing without a voice-free repeat, no noise
// reduction, no masking of the spectrum (it bends the voice), no device and no clock of its own.
package bleed
