package practice

// clerk does jobs one after the other in a goroutine of its own.
type clerk struct {
	jobs chan func()
	done chan struct{}
}

// waiting is how many jobs may wait for a clerk: 16 s of sound on a disk that does not answer.
const waiting = 64

func newClerk() *clerk {
	c := &clerk{jobs: make(chan func(), waiting), done: make(chan struct{})}
	go func() {
		defer close(c.done)
		for job := range c.jobs {
			job()
		}
	}()
	return c
}

// close lets the jobs be finished and waits for that.
func (c *clerk) close() {
	close(c.jobs)
	<-c.done
}
