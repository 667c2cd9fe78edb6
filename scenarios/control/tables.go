package control

// ordered reads whether routers write in turn.
func (o *object) ordered(f *FIB) {
	m, off, given := o.switchable("ordered")
	if !given {
		return
	}
	f.Ordered = &Ordered{Off: off}
	if m != nil {
		m.Duration("hold", &f.Ordered.Hold, 0)
		m.Duration("step", &f.Ordered.Step, 0)
		m.Done()
	}
}

// tables reads what belongs to tables and start-up.
func (o *object) tables(fib *FIB, overload *Overload, restart *Restart) {
	if f := o.open("fib"); f != nil {
		f.Duration("base", &fib.Base, 0)
		f.Duration("per_prefix", &fib.PerPrefix, 0)
		f.Flag("local_prune", &fib.LocalPrune)
		f.Duration("prune_delay", &fib.PruneDelay, 0)
		if i := f.Word("families", familyNames[:]...); i >= 0 {
			v := Families(i)
			fib.Families = &v
		}
		f.Whole("prefixes", &fib.Prefixes, 1, 100_000)
		f.Whole("labels", &fib.Labels, 0, 16)
		f.Flag("shared_groups", &fib.SharedGroups)
		f.Flag("repair_tunnel", &fib.RepairTunnel)
		f.Duration("local_delay", &fib.LocalDelay, 0)
		f.ordered(fib)
		f.Done()
	}
	if v := o.open("overload"); v != nil {
		v.Flag("leaves", &overload.Leaves)
		v.Flag("until_ready", &overload.UntilReady)
		v.Done()
	}
	if r := o.open("restart"); r != nil {
		r.Duration("grace", &restart.Grace, 0)
		r.Done()
	}
}
