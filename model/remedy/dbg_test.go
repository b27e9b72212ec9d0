package remedy_test

import (
	"fmt"
	"math"
	"os"
	"testing"

	"busgauss/model/channel"
	"busgauss/model/probe"
	"busgauss/model/remedy"
	"busgauss/schema/load"
)

func TestDbg(t *testing.T) {
	data, _ := os.ReadFile(os.Getenv("DBG"))
	l, p := load.Load("x.yaml", data)
	fmt.Println(p)
	m := probe.NewModel(l)
	rs, err := channel.MeasuredOf(m, &l.Sensors[0])
	fmt.Println(err)
	var list []remedy.Bench
	for _, r := range rs {
		fmt.Printf("%g %+v U %g %g missing %v err %v En %+v causes %v\n", r.ReadT, r.ComputedT, r.ReadUT, r.ModelUT, r.Missing, r.Err, r.Agreement(), r.Causes)
		list = append(list, remedy.Bench{Flow: r.Flow, ReadT: r.ReadT, ComputedT: r.ComputedT.Value, WithinT: r.ReadUT + math.Max(r.ComputedT.High-r.ComputedT.Value, r.ComputedT.Value-r.ComputedT.Low)})
	}
	for _, e := range remedy.Explain(m, 0, list) {
		fmt.Printf("%s %g left %g misfit %g alike %v computed %v: %s\n", e.Suspect.Name, e.Amount, e.Left, e.Misfit, e.Alike, e.ComputedT, e.Suspect.Say(e.Amount))
	}
}
