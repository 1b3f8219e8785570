# SPDX-License-Identifier: GPL-3.0-or-later
# A column of the summary over two keys of a sweep: the mean at each pair of values.
#   gnuplot -c plots/sweep-map.gp SWEEP-FOLDER OUT.svg STRATEGY [COLUMN [KEY-X KEY-Y]]
# Reads sweep.csv, and from sweep-statistics.csv which end of the column is the worse one. OUT ends in .svg, .png or .pdf.

if (ARGC < 3) {
  print "usage: gnuplot -c plots/sweep-map.gp SWEEP-FOLDER OUT.svg STRATEGY [COLUMN [KEY-X KEY-Y]]"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
strategy = ARG3
what = ARGC > 3 ? ARG4 : "energy_battery_kj"
high = 600
array VALUES_X[1]
array VALUES_Y[1]
load here . "style.gp"
rows = folder . "/sweep.csv"
load here . "sweep-keys.gp"

# the keys named, else those with the most values: the last two, which change fastest
key_x = 0
key_y = 0
if (ARGC > 5) {
  do for [k = 1:keys] {
    if (HEAD[k] eq ARG5) { key_x = k }
    if (HEAD[k] eq ARG6) { key_y = k }
  }
} else {
  if (AXES > 1) { key_x = AXIS[AXES]; key_y = AXIS[AXES - 1] }
}
if (key_x == 0 || key_y == 0) {
  print "sweep-map: sweep.csv has no two keys of numbers (of these names) to draw a map over"
  exit status 2
}
set yrange [-1:1] # of no use here, but gnuplot warns of an empty one
set table $XS
plot rows using (column(key_x)):(0) smooth unique
set table $YS
plot rows using (column(key_y)):(0) smooth unique
unset table
set yrange [*:*]
unset datafile columnheaders
set datafile separator whitespace
stats $XS using 1 nooutput name "X"
stats $YS using 1 nooutput name "Y"
array VALUES_X[X_records]
array VALUES_Y[Y_records]
stats $XS using (VALUES_X[$0 + 1] = $1, 0) nooutput
stats $YS using (VALUES_Y[$0 + 1] = $1, 0) nooutput
array SUM[X_records * Y_records]
array COUNT[X_records * Y_records]
array TRIED[X_records * Y_records]
do for [c = 1:|SUM|] { SUM[c] = 0.0; COUNT[c] = 0; TRIED[c] = 0 }
set datafile separator ","
set datafile columnheaders
at(x) = 1 + (find_y(column(key_y), 1, Y_records) - 1) * X_records + find_x(column(key_x), 1, X_records) - 1
take(c) = strcol(what) eq "" ? (TRIED[c] = TRIED[c] + 1, 0) : (SUM[c] = SUM[c] + column(what), COUNT[c] = COUNT[c] + 1, 0)
stats rows using (strcol("strategy") eq as_read(ARG3) ? take(at(0)) : NaN) nooutput

# cells reach half way to their neighbours
edge_x(i) = X_records < 2 ? VALUES_X[1] + i - 1.5 : i < 2 ? 1.5 * VALUES_X[1] - 0.5 * VALUES_X[2] : i > X_records ? 1.5 * VALUES_X[i - 1] - 0.5 * VALUES_X[i - 2] : 0.5 * (VALUES_X[i - 1] + VALUES_X[i])
edge_y(i) = Y_records < 2 ? VALUES_Y[1] + i - 1.5 : i < 2 ? 1.5 * VALUES_Y[1] - 0.5 * VALUES_Y[2] : i > Y_records ? 1.5 * VALUES_Y[i - 1] - 0.5 * VALUES_Y[i - 2] : 0.5 * (VALUES_Y[i - 1] + VALUES_Y[i])
set print $CELLS
print "x,y,left,right,low,high,value,failed"
failed = 0
bound_x = int(X_records)
bound_y = int(Y_records)
do for [k = 1:bound_y] {
  do for [i = 1:bound_x] {
    c = (k - 1) * bound_x + i
    if (COUNT[c] > 0) { print sprintf("%.9g,%.9g,%.9g,%.9g,%.9g,%.9g,%.9g,0", VALUES_X[i], VALUES_Y[k], edge_x(i), edge_x(i + 1), edge_y(k), edge_y(k + 1), SUM[c] / COUNT[c]) }
    if (COUNT[c] == 0 && TRIED[c] > 0) { failed = failed + 1; print sprintf("%.9g,%.9g,%.9g,%.9g,%.9g,%.9g,,1", VALUES_X[i], VALUES_Y[k], edge_x(i), edge_x(i + 1), edge_y(k), edge_y(k + 1)) }
  }
}
set print
stats $CELLS using (strcol("value") ne "" ? column("value") : NaN) nooutput name "C"

worse = strstrt(what, "energy") || strstrt(what, "recover") ? "low" : "high"
marked(name, end) = name eq what && end ne "" ? (worse = end, 1) : 0
stats folder . "/sweep-statistics.csv" using (marked(strcol("column"), strcol("worst_is"))) nooutput name "E"

set title sprintf("%s, strategy '%s'", named(what), short(ARG3, 40))
set xlabel labelled(HEAD[key_x])
set ylabel labelled(HEAD[key_y])
set cblabel labelled(what)
set xrange [edge_x(1):edge_x(X_records + 1)]
set yrange [edge_y(1):edge_y(Y_records + 1)]
eval "set palette defined (" . (worse eq "low" ? MORE_IS_BETTER : MORE_IS_WORSE) . ")"
unset grid
set tics front out
set bmargin (failed ? 6.5 : 4)
set key at screen 0.5, screen 0.015 center bottom maxrows 1
set style fill solid 1.0 noborder
numbers = X_records <= 12 && Y_records <= 14
# light words on dark cells alone: on those in the middle of the scale dark ones read better
dark = exists("C_min") ? C_min + 0.7 * (C_max - C_min) : 0
# left to itself the scale may end before the values do
if (exists("C_min") && C_max > C_min) { set cbrange [C_min:C_max] }
# a curve without points would be warned of, so it is not named then
without_end = failed ? ', $CELLS using (column("failed") > 0 ? column("x") : NaN):"y":"left":"right":"low":"high" with boxxyerror lc rgb FAILED fs pattern 4 border lc rgb FAILED title "no run came to an end"' : ""
figures = numbers && exists("C_min") ? ', $CELLS using (column("failed") == 0 ? column("x") : NaN):"y":(sprintf("%.3g", column("value"))):(column("value") > dark ? 0xffffff : 0x222222) with labels font ",10" textcolor rgb variable notitle' : ""
plot $CELLS using "x":"y":"left":"right":"low":"high":(column("failed") > 0 ? NaN : column("value")) with boxxyerror lc palette notitle @without_end @figures
