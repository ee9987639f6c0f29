package main

import (
	"errors"
	"runtime"
	"sync"
)

// inParallel calls work for every item on all cores and returns the results in the order of the items, with the errors joined.
func inParallel[T, R any](items []T, work func(T) (R, error)) ([]R, error) {
	results, errs := make([]R, len(items)), make([]error, len(items))
	next := make(chan int)
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range next {
				results[i], errs[i] = work(items[i])
			}
		})
	}
	for i := range items {
		next <- i
	}
	close(next)
	wait.Wait()
	return results, errors.Join(errs...)
}
