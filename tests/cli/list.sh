# SPDX-License-Identifier: GPL-3.0-or-later
# Lists.

test_case "list_strategies"
run list strategies
exits 0
no_err
for strategy in friction-only parallel series ideal-distribution; do
  grep -q "^$strategy  " out || note "$strategy is not listed"
done
test_end

test_case "list_parameters"
run list parameters
exits 0
no_err
for key in vehicle.wheelbase_m machine.front.ratio machine.rear.lag_ms battery.soc_percent \
  friction.front.lag_ms friction.rear.lag_ms driver.gain_per_s assess.felt_line_g \
  output.trace_period_ms strategy.series; do
  grep -qF "$key" out || note "$key is not listed"
done
grep -q '^assess.felt_line_g  *g  *0.015  *0.001 to 0.5  *smallest dip' out ||
  note "unit, default, range and meaning of assess.felt_line_g are not in their columns"
[ "$(awk '{ print length }' out | sort -n | sed -n "$(($(wc -l <out) / 2))p")" -le 180 ] ||
  note "one long range widens every row"
grep -q '^friction.rear.lag_ms  *ms ' out || note "friction.rear.lag_ms has no unit"
test_end

test_case "list_parameters_in_other_formats"
run list parameters --format csv
exits 0
first_out 'key,unit,default,range,meaning'
lines=$(wc -l <out)
run list parameters --format=markdown
exits 0
first_out '| key | unit | default | range | meaning |'
[ "$(wc -l <out)" -eq $((lines + 1)) ] || note "csv and markdown have different rows"
test_end

test_case "list_cycles"
run list cycles
exits 0
grep -q '^wltc-3b  *1800  *23.26[67]  *131.3  ' out || note "wltc-3b has not its published figures"
out "$BRAKEWEAVE_DATA/cycles"
test_end

test_case "list_columns"
run list columns --format csv
exits 0
out 'recovered_share,low,energy_battery over energy_trace; of a manoeuvre over energy_demanded'
out 'dip_peak_mps2,high,'
out 'duration_s,,'
test_end

test_case "list_refuses"
run list
refuses 'no list given'
run list parametres
refuses "unknown list 'parametres'; did you mean 'parameters'?"
run list cycles --format jsn
refuses "unknown format 'jsn'"
test_end
