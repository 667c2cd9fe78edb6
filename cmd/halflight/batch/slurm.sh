#!/bin/bash
#SBATCH --job-name=halflight
#SBATCH --ntasks=1
#SBATCH --cpus-per-task=1
#SBATCH --requeue
#SBATCH --open-mode=append
#SBATCH --output=halflight-%A_%a.log
#
# A study as an array of jobs, one shard a task. OUT is a folder that all nodes
# share; shards that last one to fifteen minutes suit most clusters, and many
# allow at most 1001 tasks an array.
#
#   export SCENARIO=scenario.yaml SHARDS=8 OUT=/shared/study
#   job=$(sbatch --parsable --array=0-$((SHARDS - 1)) halflight.slurm)
#   sbatch --dependency=afterok:$job --wrap 'halflight merge "$OUT"'
#
# Every task may be run again at any time: a whole shard is left as it is, one
# that was killed goes on from the replications it had finished. A node that is
# lost is the cluster's affair (--requeue). What failed for good is submitted
# again by
#
#   sbatch --array=$(halflight missing "$OUT") halflight.slurm
#
# Change flags here, not between tasks: shards of other settings are refused.
# SLURM_ARRAY_TASK_COUNT is the size of one submission and not SHARDS.
set -u
exec halflight run "$SCENARIO" --shard "$SLURM_ARRAY_TASK_ID/$SHARDS" \
  --workers "${SLURM_CPUS_PER_TASK:-1}" --out "$OUT"
