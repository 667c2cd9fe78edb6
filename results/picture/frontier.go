package picture

// Frontier is p99 convergence against the worst 10-second busy share, one line a
// flap rate, the present setting marked.
func Frontier(r *Result) Picture {
	return Picture{ID: "back-off-frontier", Title: "What back-off trades: convergence against the worst 10 seconds of work",
		Without: "no search over timers is in the folder", Command: r.again("tune", "")}
}
