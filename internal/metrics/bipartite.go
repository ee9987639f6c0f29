package metrics

// maximumMatching finds a largest set of pairs in which no index stands twice. edges[i] lists the right-hand indices that
// left-hand index i may be paired with; right is the number of right-hand indices. partner[i] is the right-hand partner of
// i, or -1. Hopcroft and Karp 1973: rounds of breadth-first layering, then depth-first search for shortest paths that
// lengthen the matching; at most about sqrt(n) rounds.
func maximumMatching(edges [][]int, right int) (partner []int) {
	m := matcher{edges: edges, left: filled(len(edges), -1), right: filled(right, -1), layer: make([]int, len(edges))}
	for i := range edges {
		m.takeFree(i)
	}
	for m.layers() {
		for i := range edges {
			if m.left[i] < 0 {
				m.lengthen(i)
			}
		}
	}
	return m.left
}

type matcher struct {
	edges       [][]int
	left, right []int // partner of each index, -1 where free
	layer       []int // distance of a left-hand index from the free ones, -1 where not reached or used up
}

// filled is a slice of n times value.
func filled(n, value int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = value
	}
	return out
}

// takeFree pairs i with its first free neighbour.
func (m *matcher) takeFree(i int) {
	for _, j := range m.edges[i] {
		if m.right[j] < 0 {
			m.left[i], m.right[j] = j, i
			return
		}
	}
}

// layers numbers the left-hand indices by distance and tells whether a free right-hand index can be reached.
func (m *matcher) layers() bool {
	var queue []int
	for i := range m.edges {
		m.layer[i] = -1
		if m.left[i] < 0 {
			m.layer[i] = 0
			queue = append(queue, i)
		}
	}
	reached := false
	for len(queue) > 0 {
		i := queue[0]
		queue = queue[1:]
		for _, j := range m.edges[i] {
			next := m.right[j]
			if next < 0 {
				reached = true
			} else if m.layer[next] < 0 {
				m.layer[next] = m.layer[i] + 1
				queue = append(queue, next)
			}
		}
	}
	return reached
}

// lengthen looks for a path of unmatched and matched pairs in turn from i to a free right-hand index and swaps them.
func (m *matcher) lengthen(i int) bool {
	own := m.layer[i]
	m.layer[i] = -1
	for _, j := range m.edges[i] {
		next := m.right[j]
		if next < 0 || (m.layer[next] == own+1 && m.lengthen(next)) {
			m.left[i], m.right[j] = j, i
			return true
		}
	}
	return false
}
