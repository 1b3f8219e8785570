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
refuses 'drawn/trace-hand-brake.csv: no such file; '
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

if ! command -v gnuplot >/dev/null; then
  test_case "plot_draws"
  test_skip
else

  test_case "plot_draws_every_figure"
  run plot drawn
  exits 0
  no_err
  out '15 figures in drawn/figures'
  for strategy in series parallel; do
    for figure in brake-torque torque-over-speed hand-over force-plane adhesion waterfall \
      charge-and-heat; do
      svg_is_drawn "drawn/figures/$figure-$strategy.svg"
      svg_shows "drawn/figures/$figure-$strategy.svg" "$strategy"
    done
  done
  svg_is_drawn drawn/figures/energy.svg
  test_end

  test_case "figures_show_every_series_with_units"
  figures=drawn/figures
  svg_shows $figures/brake-torque-parallel.svg 'friction rear' 'friction front' 'machine front' \
    'demand' 'N m' 'time / s' 'km/h'
  svg_paints $figures/brake-torque-parallel.svg '#0072b2|rgb\( *0, 114, 178\)' \
    '#d55e00|rgb\(213, *94, *0\)' '#f0c04a|rgb\(240, 192, *74\)'
  svg_shows $figures/torque-over-speed-parallel.svg 'speed / km/h' 'machine front'
  svg_shows $figures/hand-over-parallel.svg 'deficit' 'delivered' 'm/s³'
  svg_shows $figures/force-plane-parallel.svg 'z = 0.2' 'both axles use the same adhesion' 'the run'
  svg_shows $figures/adhesion-parallel.svg 'limit of the rule, slope 0.85' 'front axle' 'rear axle'
  svg_shows $figures/waterfall-parallel.svg 'machine and inverter' 'cells' 'kJ'
  svg_shows $figures/energy.svg 'series' 'parallel' 'into the battery' 'most recoverable'
  svg_shows $figures/charge-and-heat-parallel.svg 'state of charge / %' 'rotor rear' '°C'
  test_end

  # the delivered energy of the figure is that of the CSV, to the four digits shown
  test_case "waterfall_figure_carries_the_numbers_of_the_csv"
  for strategy in series parallel; do
    wanted=$(awk -F, -v s=$strategy '$1 == s && $2 == 0 && $3 == "" && $4 == "cells" {printf "%.4g", $5}' \
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
  out '8 figures'
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
  run run stop.cfg --strategy series --no-trace --out bare
  run plot bare
  exits 0
  out '1 figures in bare/figures; the results hold no traces'
  svg_is_drawn bare/figures/energy.svg
  test_end

  # names that a shell, gnuplot or a browser might take for something to do
  test_case "plot_with_hostile_names_is_harmless"
  long=$(printf '%0200d' 0)
  for odd in '<script>alert(1)' '`touch hit`' '$(touch hit)' 'a"; system("touch hit"); "' \
    "a'b, c_{d}^e @f %s%n" '-e' 'Größe' "$long"; do
    rm -rf '<touch hit;'
    cp -r drawn '<touch hit;'
    rm -r '<touch hit;/figures' '<touch hit;'/trace-*
    cp drawn/trace-series.csv "<touch hit;/trace-$odd.csv"
    run plot '<touch hit;'
    exits 0
    no_err
    out '6 figures in <touch hit;/figures'
    svg_is_drawn "<touch hit;/figures/brake-torque-$odd.svg"
    ! grep -q '<script' '<touch hit;'/figures/*.svg || note "$odd reached the figure as markup"
    if command -v xmllint >/dev/null; then
      xmllint --noout '<touch hit;'/figures/*.svg 2>err || note "$odd breaks the SVG"
    fi
  done
  rm -rf '<touch hit;'
  cp -r drawn '<touch hit;'
  rm -r '<touch hit;/figures'
  mv '<touch hit;/trace-series.csv' '<touch hit;/trace-<b>&Größe.csv'
  for table in summary handovers waterfall; do
    sed 's/^series,/<b>\&Größe,/' drawn/$table.csv >"<touch hit;/$table.csv"
  done
  run plot '<touch hit;' --strategy '<b>&Größe'
  exits 0
  out '8 figures'
  svg_shows '<touch hit;/figures/energy.svg' '&lt;b>&amp;Größe'
  svg_shows '<touch hit;/figures/waterfall-<b>&Größe.svg' '&lt;b>&amp;Größe'
  cp -r drawn '|touch hit'
  run plot '|touch hit' --strategy series
  exits 0
  absent hit
  absent '<touch hit;/hit'
  test_end
fi
