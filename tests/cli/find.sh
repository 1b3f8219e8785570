# SPDX-License-Identifier: GPL-3.0-or-later
# The first point along an axis.
# shellcheck disable=SC2086 # the words of $search are meant to be split

make_case find.cfg
search="--over battery.temperature_c=0,20 --over battery.soc_percent=100:60:-5 \
  --along battery.soc_percent --strategy series --strategy parallel"

test_case "find_agrees_with_a_run_on_either_side"
run sweep find.cfg $search --find 'recovered_share>0.4' --within 0.05 --out fi-1 --jobs 1
exits 0
no_err
out 'found'
[ "$(wc -l <fi-1/find.csv)" -eq 5 ] || note "not a row per temperature and strategy"
[ "$(sed -n 4p fi-1/find.csv | cut -d, -f1-5)" = \
  "20,series,recovered_share>0.4,battery.soc_percent,found" ] || note "the row is not what was asked"
first=$(sed -n 4p fi-1/find.csv | cut -d, -f6)
clear=$(sed -n 4p fi-1/find.csv | cut -d, -f7)
awk -v a="$first" -v b="$clear" 'BEGIN { exit !(b > a && b - a <= 0.05) }' ||
  note "first $first and clear $clear do not enclose the edge closely"
share() {
  run run find.cfg --strategy series --set battery.temperature_c=20 --set battery.soc_percent="$1" \
    --format csv
  awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) at[$i] = i } NR == 2 { print $at["recovered_share"] }' out
}
awk -v a="$(share "$first")" -v b="$(share "$clear")" 'BEGIN { exit !(a > 0.4 && b <= 0.4 && b > 0) }' ||
  note "runs at first and clear do not stand on either side"
test_end

test_case "find_gives_the_same_bytes_for_any_number_of_jobs"
for jobs in 2 7; do
  run sweep find.cfg $search --find 'recovered_share>0.4' --within 0.05 --out fi-$jobs --jobs $jobs
  exits 0
  same fi-1/find.csv fi-$jobs/find.csv
done
test_end

test_case "find_says_nowhere_at_start_and_failed"
run sweep find.cfg $search --find 'recovered_share>2' --out fi-none
exits 0
[ "$(cut -d, -f5 fi-none/find.csv | sort | uniq | tr '\n' ' ')" = "none result " ] || note "not none"
run sweep find.cfg $search --find 'duration_s>0' --out fi-start
exits 0
out 'holds from the start'
run sweep find.cfg --strategy series --over battery.soc_percent=60:120:20 --find 'recovered_share>2' \
  --along battery.soc_percent --out fi-failed
exits 3
out '1 runs say nothing: --set battery.soc_percent: 120 is above'
test_end

test_case "bad_finds_are_refused"
run sweep find.cfg $search --find 'recoverd_share>0.4' --out fi-no
refuses "did you mean 'recovered_share'"
run sweep find.cfg $search --find 'recovered_share=0.4' --out fi-no
refuses 'no operator'
run sweep find.cfg $search --find 'recovered_share>0.4' --within 0 --out fi-no
refuses 'no length for --within'
run sweep find.cfg --over battery.soc_percent=60:90:5 --find 'recovered_share>0.4' --out fi-no
refuses 'add --along KEY'
run sweep find.cfg --over battery.soc_percent=60:90:5 --find 'recovered_share>0.4' \
  --along battery.temperature_c --out fi-no
refuses 'has no range'
run sweep find.cfg --over battery.soc_percent=60 --find 'recovered_share>0.4' \
  --along battery.soc_percent --out fi-no
refuses 'is no way to look along'
run sweep find.cfg --over battery.soc_percent=60,80,70 --find 'recovered_share>0.4' \
  --along battery.soc_percent --out fi-no
refuses 'do not go one way'
run sweep find.cfg $search --out fi-no
refuses 'add --find CONDITION'
absent fi-no
test_end
