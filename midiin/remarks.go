package midiin

import "fmt"

// maxRemarks bounds the remarks on one file; a file that is damaged all over gets a last remark that counts the others.
const maxRemarks = 20

// remarks collects plain sentences, not more than maxRemarks.
type remarks struct {
	list []string
	more int // how many did not fit
}

func (r *remarks) add(format string, args ...any) {
	if len(r.list) == maxRemarks {
		r.more++
		return
	}
	r.list = append(r.list, fmt.Sprintf(format, args...))
}

// all returns the sentences, nil where there are none.
func (r *remarks) all() []string {
	if r.more == 0 {
		return r.list
	}
	return append(r.list[:len(r.list):len(r.list)], fmt.Sprintf("There are %d more remarks of this kind.", r.more))
}

// counted joins a number with its noun: "1 note", "3 notes".
func counted[N int | uint32](n N, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// countedWere is counted with its verb: "1 note was", "3 notes were".
func countedWere(n int, noun string) string {
	if n == 1 {
		return counted(n, noun) + " was"
	}
	return counted(n, noun) + " were"
}
