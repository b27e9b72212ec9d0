package parallel

import (
	"runtime"
	"strings"
	"testing"
)

// A panic of a turn reaches the caller on any number of processors, and the stack names
// where it came from.
func TestPanicReachesTheCaller(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, processors := range []int{1, 4} {
		runtime.GOMAXPROCS(processors)
		func() {
			defer func() {
				switch v := recover().(type) {
				case string:
					if processors > 1 || v != "turn 3" {
						t.Errorf("on %d processors: %v", processors, v)
					}
				case *Panic:
					if v.Value != "turn 3" || !strings.Contains(v.Error(), "TestPanicReachesTheCaller") {
						t.Errorf("on %d processors: %v", processors, v)
					}
				default:
					t.Errorf("on %d processors nothing was caught: %v", processors, v)
				}
			}()
			Each(100, 100, func(_, i int) {
				if i == 3 {
					panic("turn 3")
				}
			})
		}()
	}
}
