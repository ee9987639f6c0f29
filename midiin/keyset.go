package midiin

import (
	"iter"
	"math/bits"
)

// keySet is a set of the 128 keys. Its zero value is empty.
type keySet [2]uint64

func (s *keySet) add(key int)     { s[key>>6] |= 1 << (key & 63) }
func (s *keySet) remove(key int)  { s[key>>6] &^= 1 << (key & 63) }
func (s keySet) has(key int) bool { return s[key>>6]>>(key&63)&1 == 1 }
func (s keySet) empty() bool      { return s == keySet{} }
func (s keySet) len() int         { return bits.OnesCount64(s[0]) + bits.OnesCount64(s[1]) }

// without is the keys of s that are not in other.
func (s keySet) without(other keySet) keySet {
	return keySet{s[0] &^ other[0], s[1] &^ other[1]}
}

// all goes over the keys from low to high. It goes over the set as it was, whatever happens to it meanwhile.
func (s keySet) all() iter.Seq[int] {
	return func(yield func(int) bool) {
		for i, word := range s {
			for ; word != 0; word &= word - 1 {
				if !yield(i<<6 + bits.TrailingZeros64(word)) {
					return
				}
			}
		}
	}
}
