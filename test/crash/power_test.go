package crash_test

import (
	"flag"
	"testing"

	"threshday/test/crash/powercut"
)

var (
	cuts  = flag.Int("cuts", 60, "simulated power cuts")
	sweep = flag.Int("sweep", 45, "every which call of a simulated day fails; 1: every one")
	seed  = flag.Uint64("seed", 1, "seed of kills and cuts")
)

// shards is how many cores the simulator uses.
const shards = 2

func TestPowerCuts(t *testing.T) {
	t.Parallel()
	for shard := range shards {
		t.Run("", func(t *testing.T) {
			t.Parallel()
			// Seeds of the shards lie apart, so that no day is played twice.
			if err := powercut.NewRunner(t.TempDir()).Cuts(t.Context(), *seed+uint64(shard)<<32, *cuts/shards); err != nil {
				t.Error(err)
			}
		})
	}
}

func TestAnErrorAtEachCall(t *testing.T) {
	t.Parallel()
	if err := powercut.NewRunner(t.TempDir()).Sweep(t.Context(), powercut.DefaultDay(*seed), *sweep); err != nil {
		t.Error(err)
	}
}
