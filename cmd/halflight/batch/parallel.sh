#!/bin/bash
# A study by GNU parallel: on this machine, or on several by ssh.
#
#   SCENARIO=scenario.yaml SHARDS=8 OUT=study bash halflight-parallel.sh
#   HOSTS=2/first,2/second SCENARIO=... bash halflight-parallel.sh
#
# With HOSTS the program must be on the path of every host, and SCENARIO and OUT
# in a folder that all share under the same name. Run it again after any mishap:
# whole shards are left as they are, others go on from what they had finished.
set -eu
: "${SCENARIO:?}" "${SHARDS:?}" "${OUT:?}"
on=()
if [ -n "${HOSTS:-}" ]; then on=(--sshlogin "$HOSTS" --workdir .); fi
parallel --will-cite "${on[@]}" --retries 3 --line-buffer --quote \
  halflight run "$SCENARIO" --shard "{}/$SHARDS" --workers 1 --out "$OUT" \
  ::: $(seq 0 $((SHARDS - 1)))
halflight merge "$OUT"
