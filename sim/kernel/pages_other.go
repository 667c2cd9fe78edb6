//go:build !linux

package kernel

func askLarge(_, _ uintptr) {}
