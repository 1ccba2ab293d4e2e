package planner

import (
	"math"
	"slices"
)

// A Task is one stretch of one machine's first day: a field from one time to another, and where its grain goes.
type Task struct {
	Combine int
	Field   int
	From    float64 // hours after the table's start
	To      float64
	Acres   float64
	Bushels float64
	USD     float64
	Parts   []Part // by destination, largest first
}

// A Part of a task's grain.
type Part struct {
	Destination int
	Bushels     float64
	USD         float64
}

// today runs the first day in the member whose day lies in the middle and returns its tasks in order of machine and time.
func (e *evaluator) today(rule Rule, bend bends) (reference int, tasks []Task) {
	t := e.t
	acres := make([]float64, t.Members)
	logs := make([][]work, t.Members)
	e.members(func(s *state, m int) {
		s.fold = e.exp[0].fold[m]
		e.season(s, m, rule, bend, func(m int, w work) {
			if t.Day[w.Hour] == 0 {
				acres[m] += w.Acres
				logs[m] = append(logs[m], w)
			}
		})
	})
	reference = middle(acres)
	for k := range t.Combines {
		var task *Task
		for _, w := range logs[reference] {
			if w.Combine != k {
				continue
			}
			from := float64(w.Hour) + w.From
			if task == nil || task.Field != w.Field {
				tasks = append(tasks, Task{Combine: k, Field: w.Field, From: from})
				task = &tasks[len(tasks)-1]
			}
			task.To = from + w.Acres/t.Combines[k].Rate[w.Field]
			task.Acres += w.Acres
			task.Bushels += w.Bushels
			task.USD += w.USD
			i := slices.IndexFunc(task.Parts, func(p Part) bool { return p.Destination == w.Destination })
			if i < 0 {
				i = len(task.Parts)
				task.Parts = append(task.Parts, Part{Destination: w.Destination})
			}
			task.Parts[i].Bushels += w.Bushels
			task.Parts[i].USD += w.USD
		}
	}
	return reference, tasks
}

// middle returns the index of the median; the lowest index where several share it.
func middle(x []float64) int {
	sorted := slices.Clone(x)
	slices.Sort(sorted)
	want := sorted[len(sorted)/2]
	best, at := math.Inf(1), 0
	for i, v := range x {
		if d := math.Abs(v - want); d < best {
			best, at = d, i
		}
	}
	return at
}
