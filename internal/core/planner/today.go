package planner

import (
	"cmp"
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

// reference returns the member whose acres cut on day 0 lie in the middle; where a plan was made earlier, the one of the middle
// fifth whose order is nearest to it, so that the day shown differs for what was decided, not for the weather picked.
func (e *evaluator) reference(rule Rule, bend bends) int {
	acres := make([]float64, e.t.Members)
	e.members(func(s *state, m int) {
		s.fold, s.through = e.exp[0].fold[m], 0
		e.season(s, m, rule, bend, func(m int, w work) { acres[m] += w.Acres })
	})
	if e.set.Before == nil {
		return middle(acres)
	}
	best, least := -1, 0
	for _, m := range middleFifth(acres) {
		if n := changes(e.set.Before, e.sequence(rule, bend, m)); best < 0 || n < least {
			best, least = m, n
		}
	}
	return best
}

// middleFifth returns the indices of the values nearest to the median in rank, the nearest first.
func middleFifth(x []float64) []int {
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(x[a], x[b]) })
	n, mid := max(1, len(x)/5), len(x)/2
	median := x[order[mid]]
	from := max(0, mid-n/2)
	out := order[from:min(from+n, len(x))]
	slices.SortStableFunc(out, func(a, b int) int { return cmp.Compare(math.Abs(x[a]-median), math.Abs(x[b]-median)) })
	return out
}

// sequenceOf returns the fields of the tasks in order, by combine.
func sequenceOf(tasks []Task, combines int) [][]int {
	out := make([][]int, combines)
	for _, k := range tasks {
		out[k.Combine] = append(out[k.Combine], k.Field)
	}
	return out
}

// today runs the first day in member m and returns its tasks in order of machine and time.
func (e *evaluator) today(rule Rule, bend bends, m int) (tasks []Task) {
	t := e.t
	var log []work
	e.some([]int{m}, func(s *state, _, m int) {
		s.fold, s.through = e.exp[0].fold[m], 0
		e.season(s, m, rule, bend, func(_ int, w work) { log = append(log, w) })
	})
	for k := range t.Combines {
		var task *Task
		for _, w := range log {
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
	return tasks
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
