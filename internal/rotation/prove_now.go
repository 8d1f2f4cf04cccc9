package rotation

import (
	"context"
	"math"

	"groundhand/internal/linear"
)

func solveNow(ctx context.Context, p *linear.Program, o linear.Options) linear.Answer {
	return linear.Answer{Bound: math.Inf(-1)}
}
