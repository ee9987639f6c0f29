package ladder

import "math"

// FitFrom is from how many rounds on the weights are fitted to the player's own results.
const FitFrom = 30

// The fit.
const (
	trust    = 8.0 // how firmly the standard weights are held: each pulls like so many units of information. Own
	fitSteps = 25  // of Newton's method; it converges in under ten
)

// Fit weighs the parts of difficulty by a player's own rounds: the logistic regression of the outcome on the five parts, pulled
// towards the standard weights as by a normal prior (ridge; Hoerl and Kennard 1970, Technometrics 12, 55), each part in units of
// its standard weight. No weight falls below zero: a longer phrase is never easier for being longer. With fewer than FitFrom
// rounds, or with rounds of one outcome alone, it is Standard.
func Fit(tries []Try) Weights {
	known := 0
	for _, t := range tries {
		if t.Known {
			known++
		}
	}
	if len(tries) < FitFrom || known == 0 || known == len(tries) {
		return Standard
	}
	// The unknowns: the ability, and a factor on each standard weight.
	x := [features + 1]float64{0: startMean, 1: 1, 2: 1, 3: 1, 4: 1, 5: 1}
	for range fitSteps {
		gradient, hessian := slope(tries, x)
		change := solve(hessian, gradient)
		for i := range x {
			x[i] += change[i]
			if i > 0 {
				x[i] = max(x[i], 0)
			}
		}
	}
	var w Weights
	for i := range w {
		w[i] = Standard[i] * x[i+1]
	}
	return w
}

// slope is the gradient of the penalised log-likelihood, and its negative second derivatives.
func slope(tries []Try, x [features + 1]float64) (gradient [features + 1]float64, hessian [features + 1][features + 1]float64) {
	for _, t := range tries {
		part := t.Size.parts()
		var row [features + 1]float64
		row[0] = 1 / spread
		for i := range part {
			if !math.IsNaN(part[i]) {
				row[i+1] = -Standard[i] * part[i] / spread
			}
		}
		logit := 0.0
		for i := range row {
			logit += row[i] * x[i]
		}
		p, outcome := 1/(1+math.Exp(-logit)), 0.0
		if t.Known {
			outcome = 1
		}
		for i := range row {
			gradient[i] += (outcome - p) * row[i]
			for k := range row {
				hessian[i][k] += p * (1 - p) * row[i] * row[k]
			}
		}
	}
	for i := 1; i < len(x); i++ {
		gradient[i] -= trust * (x[i] - 1)
		hessian[i][i] += trust
	}
	hessian[0][0] += 1 / (startWide * startWide)
	gradient[0] -= (x[0] - startMean) / (startWide * startWide)
	return gradient, hessian
}

// solve solves a small system of equations with a positive definite matrix by Gaussian elimination.
func solve(m [features + 1][features + 1]float64, y [features + 1]float64) [features + 1]float64 {
	for i := range y {
		for k := i + 1; k < len(y); k++ {
			f := m[k][i] / m[i][i]
			for c := i; c < len(y); c++ {
				m[k][c] -= f * m[i][c]
			}
			y[k] -= f * y[i]
		}
	}
	for i := len(y) - 1; i >= 0; i-- {
		for k := i + 1; k < len(y); k++ {
			y[i] -= m[i][k] * y[k]
		}
		y[i] /= m[i][i]
	}
	return y
}
