package kernel

import "syscall"

// adviceHuge is MADV_HUGEPAGE of Linux: madvise(2).
const adviceHuge = 14

// askLarge asks for larger pages in a range of memory; a refusal is no harm.
func askLarge(at, size uintptr) {
	page := uintptr(syscall.Getpagesize())
	from, to := (at+page-1)&^(page-1), (at+size)&^(page-1)
	if to > from {
		_, _, _ = syscall.Syscall(syscall.SYS_MADVISE, from, to-from, adviceHuge)
	}
}
