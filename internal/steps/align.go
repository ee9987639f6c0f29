package steps

// None stands for "nothing on this side".
const None = -1

// pair joins place a of one list with place b of another; None where there is nothing.
type pair struct{ a, b int }

// costs of one way of lining two lists up.
type costs struct {
	both    func(a, b int) float64
	without func(a int) float64 // a stands alone
	extra   func(b int) float64 // b stands alone
}

// align lines up lists of n and m items at the least cost, in order (Wagner and Fischer 1974).
func align(n, m int, c costs) []pair {
	best := make([][]float64, n+1)
	for i := range best {
		best[i] = make([]float64, m+1)
		for j := range best[i] {
			best[i][j] = c.least(best, i, j)
		}
	}
	var reversed []pair
	for i, j := n, m; i > 0 || j > 0; {
		switch {
		case i > 0 && j > 0 && best[i][j] == best[i-1][j-1]+c.both(i-1, j-1):
			i, j = i-1, j-1
			reversed = append(reversed, pair{i, j})
		case i > 0 && best[i][j] == best[i-1][j]+c.without(i-1):
			i--
			reversed = append(reversed, pair{i, None})
		default:
			j--
			reversed = append(reversed, pair{None, j})
		}
	}
	for i, j := 0, len(reversed)-1; i < j; i, j = i+1, j-1 {
		reversed[i], reversed[j] = reversed[j], reversed[i]
	}
	return reversed
}

// least is the cost of the first i and j items.
func (c costs) least(best [][]float64, i, j int) float64 {
	switch {
	case i == 0 && j == 0:
		return 0
	case i == 0:
		return best[0][j-1] + c.extra(j-1)
	case j == 0:
		return best[i-1][0] + c.without(i-1)
	}
	return min(best[i-1][j-1]+c.both(i-1, j-1), best[i-1][j]+c.without(i-1), best[i][j-1]+c.extra(j-1))
}

// plain are the costs of two lists of pitch classes: 1 for whatever differs.
func plain(first, second []int) costs {
	return costs{
		both: func(a, b int) float64 {
			if agree(first[a], second[b]) {
				return 0
			}
			return 1
		},
		without: func(int) float64 { return 1 },
		extra:   func(int) float64 { return 1 },
	}
}

// partners gives for each of m items of the second list its place in the first, None where it has none.
func partners(pairs []pair, m int) []int {
	of := make([]int, m)
	for i := range of {
		of[i] = None
	}
	for _, p := range pairs {
		if p.b != None {
			of[p.b] = p.a
		}
	}
	return of
}
