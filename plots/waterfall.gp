# SPDX-License-Identifier: GPL-3.0-or-later
# Where the braking energy went: from what was delivered down to what reached the cells.
#   gnuplot -c plots/waterfall.gp RESULTS-FOLDER OUT.svg STRATEGY
# Reads waterfall.csv. OUT ends in .svg, .png or .pdf.

if (ARGC < 3) {
  print "usage: gnuplot -c plots/waterfall.gp RESULTS-FOLDER OUT.svg STRATEGY"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
strategy = ARG3
high = 620
load here . "style.gp"

rows = folder . "/waterfall.csv"
array NAMES[64]
array FROM[64]
array TO[64]
do for [i = 1:64] { FROM[i] = 0.0; TO[i] = 0.0; NAMES[i] = "" }
count = 0
level = 0.0
is_end(step) = step eq "delivered" || step eq "cells"
low(step, e) = is_end(step) ? 0.0 : level - e
high_end(step, e) = is_end(step) ? e : level
take(step, e) = (is_end(step) || abs(e) > 1e-6) && count < 64 ? \
  (count = count + 1, NAMES[count] = step, FROM[count] = low(step, e), TO[count] = high_end(step, e), \
   level = is_end(step) ? e : level - e, count) : 0
stats rows using (strcol("strategy") eq as_read(ARG3) && strcol("speed_to_kmh") eq "" && column("speed_from_kmh") <= 0 ? \
  take(strcol("step"), column("energy_kj")) : NaN) nooutput

set title sprintf("From the braking delivered to the energy into the cells, strategy '%s'", short(ARG3, 40))
set xlabel "energy / kJ"
set bmargin 4
set yrange [count + 0.7:0.3]
set lmargin 24
set rmargin 10
set xzeroaxis
set arrow 1 from first 0, graph 0 to first 0, graph 1 nohead lc rgb INK
set ytics ()
# as many decimals for all steps as the greatest one can use
greatest = 1e-9
least = 0.0
most = 1e-9
do for [i = 1:count] {
  if (abs(TO[i]) > greatest) { greatest = abs(TO[i]) }
  if (FROM[i] < least) { least = FROM[i] }
  if (TO[i] < least) { least = TO[i] }
  if (FROM[i] > most) { most = FROM[i] }
  if (TO[i] > most) { most = TO[i] }
}
# the figures stand to the right of their bars: room for those of the longest one
set xrange [least - 0.03 * (least < 0 ? most - least : 0):most + 0.13 * (most - least)]
decimals = bounded(4 - int(floor(log10(greatest))), 0, 6)
told(e) = abs(e) < 0.5 * 10 ** (-decimals) ? "~ 0" : sprintf(sprintf("%%.%df", decimals), e)
do for [i = 1:count] {
  w = ""
  do for [j = 1:strlen(NAMES[i])] { w = w . (NAMES[i][j:j] eq "_" ? " " : NAMES[i][j:j]) }
  # the words of the page that 'run' prints
  w = w eq "adhesion and balance" ? "grip and balance" : w eq "realised outside sets" ? "taken beyond limits" : w
  set ytics add (w i)
  set label i told(is_end(NAMES[i]) ? TO[i] : FROM[i] - TO[i]) at first (FROM[i] > TO[i] ? FROM[i] : TO[i]), first i left offset 0.5, 0 font ",10"
}
colour(i) = NAMES[i] eq "cells" ? 0x0072b2 : NAMES[i] eq "delivered" ? 0x222222 : FROM[i] <= TO[i] ? 0xd55e00 : 0x56b4e9
set style fill solid 1.0 border lc rgb "#222222"
unset key
x(i) = 0.5 * (FROM[i] + TO[i])
unset datafile columnheaders # an array has none
plot NAMES using ($1 <= count ? x(int($1)) : NaN):1:(FROM[int($1)]):(TO[int($1)]):($1 - 0.35):($1 + 0.35):(colour(int($1))) with boxxyerror lc rgb variable
