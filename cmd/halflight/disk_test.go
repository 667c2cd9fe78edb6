package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// Disks that are full or may not be written, real ones: in a mount namespace of
// its own. The status is 75 for what may pass and 1 for what will not; what was
// finished is kept, the same command goes on from there once there is room, and
// leaves the bytes of a run that had it from the start.
func TestDisks(t *testing.T) {
	if out, err := exec.Command("unshare", "--user", "--map-root-user", "--mount", "true").CombinedOutput(); err != nil {
		t.Skipf("needs unshare (Debian: util-linux) and user namespaces: %v: %s", err, out)
	}
	inFolder(t)
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(self, "halflight"); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("killed.yaml", []byte(killed), 0o666); err != nil {
		t.Fatal(err)
	}
	here, err := filepath.Abs(".")
	if err != nil {
		t.Fatal(err)
	}
	script := `set -u
want() { # want STATUS WORDS COMMAND...
  local status=$1 words=$2 got=0
  shift 2
  "$@" >out.txt 2>err.txt || got=$?
  [ "$got" = "$status" ] && grep -q -- "$words" err.txt out.txt || { echo "status $got, want $status and \"$words\": $*"; cat err.txt; exit 1; }
}
mkdir disk
want 0 'result in alone' halflight run killed.yaml --out alone
mount -t tmpfs -o size=160k,ro none disk
want 1 'read-only file system' halflight run killed.yaml --out disk/hunted
want 1 'cannot make disk/parts: read-only file system' halflight run killed.yaml --shard 0/2 --out disk/parts
mount -o remount,rw,size=160k disk
want 75 'no space left on device; what was kept of [1-9][0-9]* replications' halflight run killed.yaml --out disk/hunted
want 75 'no space left on device' halflight run killed.yaml --out disk/hunted
[ "$(ls -A disk | wc -l)" = 1 ] || { echo "on the full disk: $(ls -A disk)"; exit 1; }
mount -o remount,size=64m disk
want 0 'result in' halflight run killed.yaml --out disk/hunted
[ "$(ls -A disk)" = hunted ] || { echo "left: $(ls -A disk)"; exit 1; }
diff -r alone disk/hunted || exit 1
rm -r disk/hunted
mount -o remount,size=160k disk
want 75 'no space left on device' halflight run killed.yaml --shard 0/1 --out disk/parts
want 5 'no whole shard' halflight missing disk/parts
mount -o remount,size=64m disk
want 0 'replications 0 to 149' halflight run killed.yaml --shard 0/1 --out disk/parts
want 0 'result in' halflight merge disk/parts --out joined
diff -r alone joined || exit 1
echo fine
`
	c := exec.Command("unshare", "--user", "--map-root-user", "--mount", "bash", "-c", script)
	c.Env = append(os.Environ(), "PATH="+here+":"+os.Getenv("PATH"))
	out, err := c.CombinedOutput()
	if err != nil || !strings.HasSuffix(string(out), "fine\n") {
		t.Errorf("%v: %s", err, out)
	}
}
