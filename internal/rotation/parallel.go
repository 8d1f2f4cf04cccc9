package rotation

import (
	"runtime"
	"sync"
)

// inParallel does n things, as many at a time as there are processors. A panic in one of them is raised again where it can be caught, once
// all have ended: uncaught it would end the whole program, whatever the caller looks after.
func inParallel(n int, do func(i int)) {
	var all sync.WaitGroup
	var fault any
	var once sync.Once
	turn := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i := range n {
		turn <- struct{}{}
		all.Go(func() {
			defer func() {
				if caught := recover(); caught != nil {
					once.Do(func() { fault = caught })
				}
				<-turn
			}()
			do(i)
		})
	}
	all.Wait()
	if fault != nil {
		panic(fault)
	}
}
