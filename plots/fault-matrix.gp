# SPDX-License-Identifier: GPL-3.0-or-later
# Faults by conditions: how bad the worst start of each is, by one measure of faults.csv.
#   gnuplot -c plots/fault-matrix.gp FAULTS-FOLDER OUT.svg [MEASURE]
# Reads faults.csv. OUT ends in .svg, .png or .pdf.

if (ARGC < 2) {
  print "usage: gnuplot -c plots/fault-matrix.gp FAULTS-FOLDER OUT.svg [MEASURE]"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
what = ARGC > 2 ? ARG3 : "further_m"
high = 700
load here . "style.gp"
rows = folder . "/faults.csv"

unset datafile columnheaders
array HEAD[64]
do for [i = 1:64] { HEAD[i] = "" }
stats rows every ::0::0 using (0) nooutput name "H"
heads = int(H_columns)
stats rows every ::0::0 using (sum [i = 1:heads] (HEAD[i] = strcol(i), 0)) nooutput
set datafile columnheaders
# condition keys stand between 'condition' and 'start_s'
keys = 0
do for [i = 3:64] { if (HEAD[i] eq "start_s" && keys == 0) { keys = i - 3 } }
array FAULTS[64]
faults = 0
number(name, i) = i > faults ? (faults < 64 ? (faults = faults + 1, FAULTS[faults] = name, faults) : 64) : FAULTS[i] eq name ? i : number(name, i + 1)
stats rows using (number(strcol("fault"), 1)) nooutput
stats rows using "condition" nooutput name "C"
conditions = int(C_max)
keys = keys > 16 ? 16 : keys
array TELLS[16 * conditions]
do for [i = 1:|TELLS|] { TELLS[i] = "" }
tell(c) = sum [k = 1:keys] (TELLS[16 * (c - 1) + k] = strcol(2 + k), 0)
stats rows using (tell(int(column("condition")))) nooutput
measure(x) = strcol(what) eq "" ? NaN : column(what)
stats rows using (measure(0)) nooutput name "V"
top = exists("V_max") && V_max > 0 ? V_max : 1.0

set title sprintf("Faults at their worst moment: %s", labelled(what))
set xlabel "condition"
set cblabel labelled(what)
set xrange [0.5:conditions + 0.5]
set yrange [faults + 0.5:0.5]
set xtics 1 scale 0
set ytics () scale 0
do for [i = 1:faults] { set ytics add (FAULTS[i] i) }
set cbrange [0:top]
eval "set palette defined (" . MORE_IS_WORSE . ")"
unset grid
set lmargin 22
listed = conditions <= 10
set bmargin (listed ? 6.5 + 1.25 * conditions : 5)
unset key
if (listed) {
  wide = 0.88 / (keys > 5 ? keys : 5)
  low(i) = 0.025 + 0.029 * (conditions - i)
  do for [k = 1:keys] { set label 100 + k short(labelled(HEAD[2 + k]), int(165 * wide)) at screen 0.1 + wide * (k - 1), screen low(0) + 0.008 left font ",9" }
  do for [i = 1:conditions] { set label 200 + 20 * i sprintf("%d", i) at screen 0.06, screen low(i) right font ",9" }
  do for [i = 1:conditions] { do for [k = 1:keys] { set label 200 + 20 * i + k short(TELLS[16 * (i - 1) + k], 24) at screen 0.1 + wide * (k - 1), screen low(i) left font ",9" } }
} else { set label 100 "what the conditions are stands in faults.csv" at screen 0.02, screen 0.02 left font ",9" }
set style fill solid 1.0 border lc rgb "#ffffff"
numbered = conditions <= 16
# a curve without points would be warned of, so it is not named then
gaps = 0
is_gap(x) = strcol("status") ne "done" || strcol(what) eq ""
stats rows using (gaps = gaps + is_gap(0), 0) nooutput
without = gaps ? ', rows using (is_gap(0) ? column("condition") : NaN):(number(strcol("fault"), 1)):(column("condition") - 0.5):(column("condition") + 0.5):(number(strcol("fault"), 1) - 0.5):(number(strcol("fault"), 1) + 0.5) with boxxyerror lc rgb FAILED fs pattern 4 notitle' : ""
figures = numbered ? ', rows using "condition":(number(strcol("fault"), 1)):(strcol("status") ne "done" ? "failed" : strcol(what) eq "" ? "–" : sprintf("%.3g", column(what))):(strcol(what) ne "" && column(what) > 0.7 * top ? 0xffffff : 0x222222) with labels font ",10" textcolor rgb variable notitle' : ""
plot rows using "condition":(number(strcol("fault"), 1)):(column("condition") - 0.5):(column("condition") + 0.5):(number(strcol("fault"), 1) - 0.5):(number(strcol("fault"), 1) + 0.5):(measure(0)) with boxxyerror lc palette notitle @without @figures
