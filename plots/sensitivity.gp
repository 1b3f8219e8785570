# SPDX-License-Identifier: GPL-3.0-or-later
# Where the spread of a column of the summary comes from: shares of its variance by tolerance.
#   gnuplot -c plots/sensitivity.gp SWEEP-FOLDER OUT.svg STRATEGY [COLUMN]
# Reads sweep-statistics.csv of a sweep with --sensitivity; at several grid points the mean over them. OUT ends in .svg, .png or .pdf.

if (ARGC < 3) {
  print "usage: gnuplot -c plots/sensitivity.gp SWEEP-FOLDER OUT.svg STRATEGY [COLUMN]"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
strategy = ARG3
what = ARGC > 3 ? ARG4 : "energy_battery_kj"
high = 560
load here . "style.gp"
rows = folder . "/sweep-statistics.csv"

unset datafile columnheaders
array HEAD[1024]
do for [i = 1:1024] { HEAD[i] = "" }
stats rows every ::0::0 using (0) nooutput name "H"
heads = int(H_columns)
stats rows every ::0::0 using (sum [i = 1:heads] (HEAD[i] = strcol(i), 0)) nooutput
set datafile columnheaders
count = 0
array TOLERANCE[64]
do for [i = 1:400] {
  if (HEAD[i][1:12] eq "first_order." && count < 64) { count = count + 1; TOLERANCE[count] = HEAD[i][13:] }
}
array SUM[6 * 64]
array RUNS[64]
do for [i = 1:6 * 64] { SUM[i] = 0.0 }
do for [i = 1:64] { RUNS[i] = 0 }
array KIND = ["first_order.", "first_order_low.", "first_order_high.", "total.", "total_low.", "total_high."]
has(i) = strcol("first_order." . TOLERANCE[i]) ne ""
add(i) = (RUNS[i] = RUNS[i] + 1, sum [k = 1:6] (SUM[6 * (i - 1) + k] = SUM[6 * (i - 1) + k] + column(KIND[k] . TOLERANCE[i]), 0))
points = 0
stats rows using (strcol("strategy") eq as_read(ARG3) && strcol("column") eq what ? (points = points + 1, sum [i = 1:count] (has(i) ? add(i) : 0)) : NaN) nooutput

# the greatest total first
array RANK[64]
do for [i = 1:64] { RANK[i] = i }
mean(i, k) = RUNS[i] > 0 ? SUM[6 * (i - 1) + k] / RUNS[i] : 0.0
do for [a = 1:count - 1] {
  do for [b = a + 1:count] {
    if (mean(RANK[b], 4) > mean(RANK[a], 4)) { swap = RANK[a]; RANK[a] = RANK[b]; RANK[b] = swap }
  }
}
set print $BARS
print "at,first,first_low,first_high,total,total_low,total_high"
drawn = 0
do for [a = 1:count] {
  i = RANK[a]
  if (RUNS[i] > 0) {
    drawn = drawn + 1
    print sprintf("%d,%.6g,%.6g,%.6g,%.6g,%.6g,%.6g", drawn, mean(i, 1), mean(i, 2), mean(i, 3), mean(i, 4), mean(i, 5), mean(i, 6))
  }
}
set print
set title sprintf("Spread of %s by tolerance, strategy '%s'%s", named(what), short(ARG3, 24), points > 1 ? sprintf(" (mean of %d grid points)", points) : "")
if (drawn == 0) {
  set xrange [0:1]
  set yrange [0:1]
  set label 1 "this column does not vary" at 0.5, 0.5 center
  plot NaN notitle
  exit
}
set ytics ()
at = 0
do for [a = 1:count] {
  if (RUNS[RANK[a]] > 0) { at = at + 1; set ytics add (short(named(TOLERANCE[RANK[a]]), 34) at) }
}
set lmargin 34
set yrange [drawn + 0.6:0.4]
set xrange [0:*<1.6]
set xlabel "share of the variance (1 = all of it)"
set key at screen 0.5, screen 0.015 center bottom maxrows 2
set bmargin 6.5
set style fill solid 1.0 border lc rgb INK
part(low) = low < 0 ? 0 : low
plot $BARS using (0.5 * column("first")):"at":(0):(part(column("first"))):(column("at") - 0.36):(column("at") - 0.02) with boxxyerror lc rgb MACHINE_FRONT title "alone (first order)", \
     $BARS using (0.5 * column("total")):"at":(0):(part(column("total"))):(column("at") + 0.02):(column("at") + 0.36) with boxxyerror lc rgb FRICTION_FRONT fs pattern 5 border lc rgb INK title "with all interactions (total)", \
     $BARS using "first":(column("at") - 0.19):(part(column("first_low"))):"first_high" with xerrorbars pt 0 lw 1.5 lc rgb INK title "95 % interval", \
     $BARS using "total":(column("at") + 0.19):(part(column("total_low"))):"total_high" with xerrorbars pt 0 lw 1.5 lc rgb INK notitle
