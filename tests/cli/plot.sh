# SPDX-License-Identifier: GPL-3.0-or-later
# Figures: the verb, its refusals, and what gnuplot made of each script.
# shellcheck shell=sh disable=SC2154 # program, root and status come from run.sh and lib.sh

# FILE: a drawn SVG: whole, and with at least 12 curves, bars or marks of its own colours
svg_is_drawn() {
  [ -s "$1" ] || note "$1 is missing or empty"
  grep -q '<svg' "$1" && tail -n 2 "$1" | grep -q '</svg>' || note "$1 is no whole SVG"
  marks=$(grep -cE "<(path|use|polygon|circle|rect)" "$1")
  [ "$marks" -ge 12 ] || note "$1 is blank: $marks marks"
}

# FILE TEXT...: the figure carries each text
svg_shows() {
  file=$1
  shift
  for text in "$@"; do
    grep -qF -e "$text" "$file" || note "$file does not show: $text"
  done
}

# FILE COLOUR...: something is painted in each colour besides the sample of the key
svg_paints() {
  file=$1
  shift
  for colour in "$@"; do
    grep -qiE "$colour" "$file" || note "$file paints nothing in $colour"
  done
}

run run stop.cfg --strategy series --strategy parallel --out drawn
cp -r drawn other

test_case "plot_refuses_what_is_no_results_folder"
mkdir -p nothing
run plot nothing
refuses 'nothing: is no results folder; '
mkdir -p searched
: >searched/find.csv
run plot searched
refuses 'searched: holds a search, which has no figures; '
run plot nowhere
refuses 'nowhere: '
run plot stop.cfg
refuses 'stop.cfg: '
echo 'a,b' >nothing/summary.csv
echo '1,2' >>nothing/summary.csv
run plot nothing
refuses 'nothing/summary.csv:1: is no summary of results; '
run plot
refuses 'results folder'
run plot drawn --png --svg
refuses 'exclude each other'
run plot drawn --strategy hand-brake
refuses "no strategy 'hand-brake' in the results; "
run plot drawn --strategy ../drawn/series
refuses "no strategy '../drawn/series'"
absent drawn/figures
test_end

test_case "plot_names_the_missing_column_and_the_older_folder"
sed '1s/demand_nm,/wish_nm,/' drawn/trace-series.csv >other/trace-series.csv
run plot other
refuses "other/trace-series.csv:1: column 'demand_nm' is missing; "
cp drawn/trace-series.csv other/
rm other/waterfall.csv
run plot other
refuses 'other/waterfall.csv: no such file; run the case again'
: >other/waterfall.csv
run plot other
refuses 'other/waterfall.csv: is empty; '
cp drawn/waterfall.csv other/
sed '1s/energy_recoverable_rule_kj/energy_recoverable/' drawn/summary.csv >other/summary.csv
run plot other
refuses "other/summary.csv:1: column 'energy_recoverable_rule_kj' is missing; "
absent other/figures
test_end

test_case "plot_without_gnuplot_tells_how_to_get_it"
mkdir -p empty-path
PATH=$PWD/empty-path "$program" plot drawn >out 2>err </dev/null
status=$?
refuses 'figures need gnuplot'
err 'apt-get install gnuplot'
absent drawn/figures
test_end

# where the machine's power binds the map shows that power over the gear's efficiency at every speed;
# a fuller battery never allows more; nothing is allowed at rest
test_case "regeneration_map_holds_together"
map=drawn/regeneration-map.csv
[ "$(head -n 1 $map)" = speed_kmh,soc_percent,torque_front_nm,torque_rear_nm,axle_power_kw,limited_by ] ||
  note "other columns"
awk -F, 'NR > 1 && $6 == "peak_power" {if (n++ == 0) p = $5; d = $5 / p - 1; if (d > 1e-8 || d < -1e-8) bad++}
  NR > 1 && $1 == 0 && $5 != 0 {bad++}
  NR > 1 {if ($1 in was && $5 > was[$1] * (1 + 1e-9) && $2 > 50) bad++; was[$1] = $5}
  END {exit bad > 0 || n < 100 || p < 1}' $map || note "the map contradicts itself"
grep -q ',charge_voltage$' $map || note "a full battery does not limit"
! grep -qi nan $map || note "not a number in the map"
test_end

if ! command -v gnuplot >/dev/null; then
  test_case "plot_draws"
  test_skip
else

  test_case "plot_draws_every_figure"
  run plot drawn
  exits 0
  no_err
  out '19 figures in drawn/figures'
  for strategy in series parallel; do
    for figure in brake-torque torque-over-speed hand-over force-plane adhesion waterfall \
      energy-by-speed charge-and-heat; do
      svg_is_drawn "drawn/figures/$figure-$strategy.svg"
      svg_shows "drawn/figures/$figure-$strategy.svg" "$strategy"
    done
  done
  svg_is_drawn drawn/figures/energy.svg
  svg_is_drawn drawn/figures/trade-off.svg
  svg_is_drawn drawn/figures/regeneration-map.svg
  [ -z "$(find drawn/figures -name '.*' -mindepth 1)" ] || note "a working folder was left behind"
  test_end

  test_case "figures_show_every_series_with_units"
  figures=drawn/figures
  svg_shows $figures/brake-torque-parallel.svg 'friction rear' 'friction front' 'machine front' \
    'demand' 'N m' 'time / s' 'km/h'
  svg_paints $figures/brake-torque-parallel.svg '#0072b2|rgb\( *0, 114, 178\)' \
    '#d55e00|rgb\(213, *94, *0\)' '#f0c04a|rgb\(240, 192, *74\)'
  svg_shows $figures/torque-over-speed-parallel.svg 'speed / km/h' 'machine front'
  svg_shows $figures/hand-over-parallel.svg 'deficit' 'delivered' 'felt line' 'm/s³'
  svg_shows $figures/force-plane-parallel.svg 'z = 0.2' 'both axles use the same adhesion' 'the run' \
    'allowed by rule (slope 0.85) and order' 'line of the rule, front axle' 'line of the rule, rear axle'
  svg_shows $figures/adhesion-parallel.svg 'limit of the rule, slope 0.85' 'front axle' 'rear axle'
  svg_shows $figures/waterfall-parallel.svg 'machine and inverter' 'cells' 'kJ'
  svg_shows $figures/energy.svg 'series' 'parallel' 'into the battery' 'most recoverable'
  svg_shows $figures/energy-by-speed-parallel.svg 'into the cells' 'lost on the way' 'not asked for' \
    'axle split' 'limits of machine' '30–50' 'kJ'
  svg_shows $figures/trade-off.svg 'series' 'parallel' 'deepest dip / m/s²' 'none beats these'
  svg_shows $figures/regeneration-map.svg 'machine: torque' 'machine: power' 'battery: voltage' \
    'low speed' 'state of charge / %' 'kW'
  svg_shows $figures/charge-and-heat-parallel.svg 'state of charge / %' 'rotor rear' '°C'
  test_end

  # the delivered energy of the figure is that of the CSV, to the digits shown, those of the greatest step
  test_case "waterfall_figure_carries_the_numbers_of_the_csv"
  for strategy in series parallel; do
    wanted=$(awk -F, -v s=$strategy '$1 == s && $2 == 0 && $3 == "" {
        if ($4 == "delivered") { digits = 5 - length(sprintf("%d", $5)) }
        if ($4 == "cells") { printf("%.*f", digits, $5) } }' \
      drawn/waterfall.csv)
    svg_shows drawn/figures/waterfall-$strategy.svg ">$wanted<"
    # a bar for each step that took something, for what was delivered and what the cells got
    wanted=$(awk -F, -v s=$strategy '$1 == s && $2 == 0 && $3 == "" &&
      ($4 == "delivered" || $4 == "cells" || $5 > 1e-6 || $5 < -1e-6)' drawn/waterfall.csv | wc -l)
    bars=$(grep -c '<polygon fill' drawn/figures/waterfall-$strategy.svg)
    [ "$bars" -eq "$wanted" ] || note "$bars bars of $strategy, wanted $wanted"
  done
  test_end

  test_case "plot_draws_png_and_pdf"
  run plot drawn --png --strategy series
  exits 0
  out '11 figures'
  for figure in drawn/figures/*.png; do
    [ "$(head -c 4 "$figure" | tail -c 3)" = PNG ] || note "$figure is no PNG"
    # a blank canvas of this size packs to under 4 kB
    [ "$(wc -c <"$figure")" -gt 12000 ] || note "$figure looks blank"
  done
  run plot drawn --pdf --strategy series
  exits 0
  [ "$(head -c 5 drawn/figures/energy.pdf)" = '%PDF-' ] || note "no PDF"
  test_end

  test_case "plot_by_hand_draws_a_window"
  gnuplot -c "$root/plots/brake-torque.gp" drawn window.svg series 1 2 >out 2>err || note "failed"
  svg_is_drawn window.svg
  gnuplot -c "$root/plots/energy.gp" drawn >out 2>err
  status=$?
  exits 2
  err 'usage: gnuplot -c plots/energy.gp'
  test_end

  test_case "plot_without_traces_draws_what_applies"
  run run stop.cfg --strategy series --no-trace --out traceless
  run plot traceless
  exits 0
  out '5 figures in traceless/figures'
  svg_is_drawn traceless/figures/energy.svg
  test_end

  # names that a shell, gnuplot or a browser might take for something to do; as in a CSV, and as in
  # the name of a trace
  odd_folder() { # NAME CODED-NAME
    rm -rf '<touch hit;'
    cp -r drawn '<touch hit;'
    rm -rf '<touch hit;/figures' '<touch hit;'/trace-*
    cp drawn/trace-series.csv "<touch hit;/trace-$2.csv"
    for table in summary handovers waterfall; do
      odd=$1 awk 'BEGIN { q = "\""; n = ENVIRON["odd"]; gsub(q, q q, n) }
        index($0, "parallel,") == 1 { next }
        index($0, "series,") == 1 { $0 = q n q substr($0, 7) } { print }' \
        "drawn/$table.csv" >"<touch hit;/$table.csv"
    done
  }
  test_case "plot_with_hostile_names_is_harmless"
  long=$(printf '%0200d' 0)
  longer=$(printf '%0300d' 0)
  while IFS='|' read -r odd coded; do
    odd_folder "$odd" "$coded"
    run plot '<touch hit;'
    exits 0
    no_err
    out '11 figures in <touch hit;/figures'
    for figure in brake-torque waterfall hand-over force-plane; do
      svg_is_drawn "<touch hit;/figures/$figure-$(printf '%.200s' "$coded").svg"
    done
    ! grep -q '<script' '<touch hit;'/figures/*.svg || note "$odd reached the figure as markup"
    if command -v xmllint >/dev/null; then
      xmllint --noout '<touch hit;'/figures/*.svg 2>err || note "$odd breaks the SVG"
    fi
  done <<NAMES
<script>alert(1)|%3Cscript%3Ealert%281%29
\`touch hit\`|%60touch%20hit%60
\$(touch hit)|%24%28touch%20hit%29
a"; system("touch hit"); "|a%22%3B%20system%28%22touch%20hit%22%29%3B%20%22
a'b, c_{d}^e @f %s%n|a%27b%2C%20c_%7Bd%7D%5Ee%20%40f%20%25s%25n
-e|-e
Größe|Größe
$long|$long
$longer|$(printf '%.242s' "$longer")
NAMES
  odd_folder '<b>&Größe' '%3Cb%3E%26Größe'
  run plot '<touch hit;' --strategy '<b>&Größe'
  exits 0
  out '11 figures'
  svg_shows '<touch hit;/figures/energy.svg' '&lt;b>&amp;Größe'
  svg_shows '<touch hit;/figures/waterfall-%3Cb%3E%26Größe.svg' '&lt;b>&amp;Größe'
  cp -r drawn '|touch hit'
  run plot '|touch hit' --strategy series
  exits 0
  absent hit
  absent '<touch hit;/hit'
  test_end

  test_case "plot_draws_an_assessment_a_sweep_and_faults"
  run assess stop.cfg --strategy series --out judged
  run plot judged
  exits 0
  no_err
  out '2 figures in judged/figures'
  svg_is_drawn judged/figures/adhesion-band-series.svg
  svg_shows judged/figures/adhesion-band-series.svg 'front axle, any charge' 'rear axle, any charge' \
    'line, slope 0.85' 'line, slope 0.7' 'order asked for' 'braking rate z' 'laden'
  svg_is_drawn judged/figures/descent-series.svg
  svg_shows judged/figures/descent-series.svg 'state of charge / %' 'charge limit / kW' 'disc front' \
    'pad rear' 'machines' 'friction' 'distance / km'
  run sweep stop.cfg --over battery.soc_percent=50:90:20 --over friction.front.lag_ms=30,90 \
    --over strategy=series,parallel --out swept
  run plot swept
  exits 0
  no_err
  out '7 figures in swept/figures'
  for figure in sweep-map-energy-series sweep-map-dip-parallel; do
    svg_is_drawn "swept/figures/$figure.svg"
    svg_shows "swept/figures/$figure.svg" 'battery.soc / %' 'friction.front.lag / ms'
  done
  for figure in energy dip; do
    svg_is_drawn "swept/figures/sweep-lines-$figure.svg"
    svg_shows "swept/figures/sweep-lines-$figure.svg" 'series' 'parallel' 'battery.soc / %' 'least and greatest'
  done
  svg_shows swept/figures/sweep-trade-off.svg 'series' 'parallel' 'none beats these'
  run faults stop.cfg --strategy series --fault machine-trip --fault booster-loss --moments 2 \
    --over battery.soc_percent=50,95 --out failing
  run plot failing --png
  exits 0
  run plot failing
  out '2 figures in failing/figures'
  svg_is_drawn failing/figures/faults-way.svg
  svg_shows failing/figures/faults-way.svg 'machine-trip' 'booster-loss' 'battery.soc / %' \
    'further than the sound car / m'
  test_end

  # names of regions stand on dark ground: on white of their own, in SVG too
  # the frame is the first closed path of four corners
  test_case "colours_of_the_map_of_regeneration_keep_to_its_frame"
  grep "d='M\([0-9.]*\),\([0-9.]*\) L[^ ]* L[^ ]* L[^ ]* L\1,\2 Z" drawn/figures/regeneration-map.svg |
    sed "s/.*d='M\([0-9.]*\),\([0-9.]*\) L[^ ]* L\([0-9.]*\),\([0-9.]*\) .*/\1 \2 \3 \4/" |
    head -n 1 >frame
  sed -n "s/.*<image x='\([0-9.]*\)' y='\([0-9.]*\)' width='\([0-9.]*\)' height='\([0-9.]*\)'.*/\1 \2 \3 \4/p" \
    drawn/figures/regeneration-map.svg >image
  cat frame image | awk 'NR == 1 { x = $1; y = $2; right = $3; low = $4 }
    NR == 2 { has = $1 >= x - 0.1 && $2 >= y - 0.1 && $1 + $3 <= right + 0.1 && $2 + $4 <= low + 0.1 && $3 > 400 }
    END { exit !(NR == 2 && has) }' || note "frame and colours: $(cat frame image)"
  test_end

  test_case "names_in_the_map_of_regeneration_can_be_read"
  [ "$(grep -c '<polygon fill = .rgb(255, 255, 255)' drawn/figures/regeneration-map.svg)" -ge 3 ] ||
    note "names without white below them"
  test_end

  test_case "lines_of_a_sweep_show_every_strategy"
  run sweep stop.cfg --strategy all --over battery.soc_percent=50,95 --out swept-all
  run plot swept-all
  exits 0
  for strategy in $("$program" list strategies --format csv | tail -n +2 | cut -d, -f1); do
    svg_shows swept-all/figures/sweep-lines-dip.svg ">$strategy<"
  done
  test_end

  # the darkest blue where more is better, the darkest orange where more is worse
  test_case "a_map_takes_its_colours_from_the_worse_end_of_the_column"
  for figure in of_recoverable_plant:blue axle_margin_worst:blue dip_peak_mps2:orange rotor_front_peak_c:orange; do
    gnuplot -c "$root/plots/sweep-map.gp" swept map.svg series "${figure%:*}" >out 2>err || note "failed"
    svg_shows map.svg "strategy 'series'"
    paints=$(grep -qE 'rgb\( *8, *61, *107\)' map.svg && echo blue; grep -qE 'rgb\( *122, *47, *0\)' map.svg && echo orange)
    [ "$paints" = "${figure#*:}" ] || note "${figure%:*} is painted in '$paints'"
  done
  test_end

  test_case "waterfall_tells_what_is_beyond_limits_in_plain_words"
  mkdir beyond
  sed 's/,realised_outside_sets,[^,]*,/,realised_outside_sets,-5,/' drawn/waterfall.csv >beyond/waterfall.csv
  gnuplot -c "$root/plots/waterfall.gp" beyond beyond.svg series >out 2>err || note "failed"
  svg_shows beyond.svg '>taken beyond limits<' '>-5'
  ! grep -q 'outside sets' beyond.svg || note "jargon"
  run run stop.cfg --strategy series --no-trace --out beyond-page
  out 'Beyond limits: '
  test_end

  # the car has no machine at the rear, no cell of the map is without a run
  test_case "plot_by_hand_warns_of_nothing"
  for figure in torque-over-speed charge-and-heat hand-over force-plane adhesion brake-torque waterfall energy-by-speed; do
    gnuplot -c "$root/plots/$figure.gp" drawn quiet.svg series >out 2>err || note "$figure failed"
    [ ! -s err ] || note "$figure: $(head -n 1 err)"
  done
  gnuplot -c "$root/plots/regeneration-map.gp" drawn quiet.svg >out 2>err || note "the map of regeneration failed"
  no_err
  gnuplot -c "$root/plots/sweep-map.gp" swept quiet.svg series recovered_share >out 2>err || note "the map failed"
  no_err
  gnuplot -c "$root/plots/sweep-lines.gp" swept quiet.svg >out 2>err || note "the lines failed"
  no_err
  test_end

  # a cell of the map is the mean of its rows, a cell of the matrix the figure of its row
  test_case "figures_of_sweep_and_faults_carry_the_numbers_of_the_csv"
  column() { # NAME FILE: its number
    head -n 1 "$2" | tr ',' '\n' | grep -nx "$1" | cut -d: -f1
  }
  wanted=$(awk -F, -v c="$(column energy_battery_kj swept/sweep.csv)" \
    -v s="$(column strategy swept/sweep.csv)" '$s == "series" && $1 == 70 && $2 == 90 {printf "%.3g", $c}' swept/sweep.csv)
  [ -n "$wanted" ] || note "no such row"
  svg_shows swept/figures/sweep-map-energy-series.svg ">$wanted<"
  for condition in 1 2; do
    wanted=$(awk -F, -v c="$(column further_m failing/faults.csv)" -v k="$condition" \
      '$1 == "booster-loss" && $2 == k {printf "%.3g", $c}' failing/faults.csv)
    [ -n "$wanted" ] || note "no such row"
    svg_shows failing/figures/faults-way.svg ">$wanted<"
  done
  test_end

  test_case "plot_draws_tolerances"
  run sweep stop.cfg --strategy series --sample 8 --sensitivity --set tolerances.friction.front.lag_ms=normal:6 \
    --set tolerances.friction.front.pad_scale=uniform:0.9:1.1 --out drawn-lots
  run plot drawn-lots
  exits 0
  no_err
  out '3 figures in drawn-lots/figures'
  svg_is_drawn drawn-lots/figures/sensitivity-dip-series.svg
  svg_shows drawn-lots/figures/sensitivity-dip-series.svg 'friction.front.lag' 'friction.front.pad scale' \
    'alone (first order)' 'with all interactions (total)' '95 % interval'
  # the bar with the greatest total stands first
  wanted=$(awk -F, -v a="$(column total.friction.front.lag_ms drawn-lots/sweep-statistics.csv)" \
    -v b="$(column total.friction.front.pad_scale drawn-lots/sweep-statistics.csv)" \
    '$2 == "dip_peak_mps2" {print($a > $b ? "lag" : "pad scale")}' drawn-lots/sweep-statistics.csv)
  first=$(grep -oE 'friction\.front\.(lag|pad scale)' drawn-lots/figures/sensitivity-dip-series.svg | head -n 1)
  [ "$first" = "friction.front.$wanted" ] || note "$first stands first, wanted $wanted"
  test_end

  # a spike of one row among many survives, and so does the hand-over's shape
  test_case "a_long_trace_is_thinned_without_losing_peaks"
  rm -rf long
  cp -r drawn long
  rm -rf long/figures long/trace-parallel.csv
  awk -F, -v OFS=, -v c="$(column demand_nm drawn/trace-series.csv)" 'NR == 1 {print; next}
    {last = $0; rows[NR] = $0} END {
      for (k = 0; k < 1500; k++) for (i = 2; i <= NR; i++) {
        n = split(rows[i], f, ","); f[1] += k * 5
        if (k == 777 && i == 12) f[c] = 98765
        line = f[1]; for (j = 2; j <= n; j++) line = line "," f[j]; print line } }' \
    drawn/trace-series.csv >long/trace-series.csv
  rows=$(wc -l <long/trace-series.csv)
  [ "$rows" -gt 30000 ] || note "only $rows rows"
  run plot long --strategy series
  exits 0
  # the axis reaches up to the spike
  svg_shows long/figures/brake-torque-series.svg ' 100000<'
  [ "$(wc -c <long/figures/brake-torque-series.svg)" -lt 1000000 ] || note "the figure is not thinned"
  test_end

  test_case "interrupted_plot_leaves_no_copies"
  cp -r drawn halted
  rm -rf halted/figures
  "$program" plot halted >out 2>err &
  pid=$!
  tries=0
  while [ -z "$(ls -d halted/figures/.thinned-* 2>/dev/null)" ] && [ $tries -lt 1000 ]; do
    sleep 0.01
    tries=$((tries + 1))
  done
  kill -TERM $pid
  wait $pid
  status=$?
  exits 130
  err 'interrupted while drawing'
  [ -z "$(ls -d halted/figures/.thinned-* 2>/dev/null)" ] || note "the thinned traces are still there"
  test_end
fi
