package command

import (
	"context"
	"errors"
	"testing"
	"time"
)

// Time goes by in real time, but up to the next moment where it is skipped, and after the last one without end.
func TestPace(t *testing.T) {
	p := newPace([]float64{100, 200})
	const far = 1000.0 // s: nobody waits so long
	at := func(moment float64) error {
		ctx, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
		defer cancel()
		return p.wait(ctx, moment)
	}
	if err := at(99); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("99 s went by at once: %v", err)
	}
	p.skip()
	for _, moment := range []float64{99, 99.5, 100} {
		if err := at(moment); err != nil {
			t.Errorf("%g s were not skipped: %v", moment, err)
		}
	}
	if err := at(150); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("more was skipped than to 100 s: %v", err)
	}
	p.skip()
	if err := at(200); err != nil {
		t.Errorf("200 s were not skipped: %v", err)
	}
	if err := at(201); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("more was skipped than to 200 s: %v", err)
	}
	p.skip()
	if err := at(far); err != nil {
		t.Errorf("the end was not skipped to: %v", err)
	}
}
