package rollcall

import (
	"context"

	"groundhand/internal/rotation"
)

// A long window planned one stage at a time, for whoever keeps what is left between the stages.

// RotationWhole is RotationPosed for a window of any length. FirstStage cuts off of it what can be planned in one go.
func (r *Roll) RotationWhole(ctx context.Context, ask RotationAsk) (Posed, error) {
	return r.posed(ctx, ask)
}

// FirstStage cuts the first stage off what is left of a rotation, without its plan and figures. Number is which stage it is, from 1, and
// name that of the whole rotation. A window that is short enough is one stage, as it is.
func FirstStage(rest rotation.Problem, number int, name string) Stage {
	return nextStage(rest, number, rotation.Problem{Name: name})
}

// AfterStage is what is left of a rotation once its first stage is planned; nothing is left where Through is the last day.
func AfterStage(rest rotation.Problem, done Stage) rotation.Problem { return afterStage(rest, done) }
