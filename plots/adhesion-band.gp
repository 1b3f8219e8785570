# SPDX-License-Identifier: GPL-3.0-or-later
# Adhesion used by the axles over the braking rate as bands over speed and charge, with the published lines.
#   gnuplot -c plots/adhesion-band.gp ASSESSMENT-FOLDER OUT.svg STRATEGY
# Reads balance.csv. OUT ends in .svg, .png or .pdf.

if (ARGC < 3) {
  print "usage: gnuplot -c plots/adhesion-band.gp ASSESSMENT-FOLDER OUT.svg STRATEGY"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
strategy = ARG3
high = 760
load here . "style.gp"
rows = folder . "/balance.csv"

ours(x) = strcol("strategy") eq as_read(ARG3)
array LOADS = ["unladen", "laden"]
array AT = [0.935, 0.555]
stats rows using (ours(0) && strcol("charge") eq "any" ? column("front_used_high") : NaN) nooutput name "F"
stats rows using (ours(0) && strcol("charge") eq "any" ? column("rear_used_high") : NaN) nooutput name "R"
top = 1.05 * (F_max > R_max ? F_max : R_max)
here_is(j, y) = ours(0) && strcol("load_state") eq LOADS[j] && strcol("charge") eq "any" ? y : NaN
full_is(j, y) = ours(0) && strcol("load_state") eq LOADS[j] && strcol("charge") eq "none" ? y : NaN
z(x) = column("braking_rate")
line(name) = strcol(name) eq "" ? NaN : column(name)

set multiplot
set lmargin 9
set rmargin 4
set yrange [0:top]
set xrange [0:1]
set ylabel "adhesion used f"
do for [j = 1:2] {
  set tmargin at screen AT[j]
  set bmargin at screen AT[j] - 0.335
  if (j == 1) { set title sprintf("Adhesion utilisation, strategy '%s', bands over speed and charge", short(ARG3, 40)); set format x "" }
  if (j == 2) {
    unset title
    set format x "%g"
    set xlabel "braking rate z"
  }
  set label 1 LOADS[j] at graph 0.02, graph 0.92 left font ",13"
  # where the order of the axles is asked for: front above rear
  set object 1 rectangle from first 0.15, graph 0 to first 0.8, graph 1 fc rgb "#f3f3ee" fs solid noborder behind
  set label 2 "order asked for: front above rear" at first 0.475, graph 0.95 center font ",10" textcolor rgb "#666666"
  if (j == 2) { set key at screen 0.5, screen 0.01 center bottom maxrows 3 } else { unset key }
  set style fill transparent solid 0.55 noborder
  plot rows using (here_is(j, z(0))):"front_used_low":"front_used_high" with filledcurves lc rgb MACHINE_FRONT title "front axle, any charge", \
       rows using (here_is(j, z(0))):"rear_used_low":"rear_used_high" with filledcurves fs transparent pattern 5 lc rgb FRICTION_FRONT title "rear axle, any charge", \
       rows using (full_is(j, z(0))):"front_used_high" with lines lw 1.5 lc rgb "#003f66" title "front axle, friction alone", \
       rows using (full_is(j, z(0))):"rear_used_high" with lines lw 1.5 dt 4 lc rgb "#7a3600" title "rear axle, friction alone", \
       rows using (here_is(j, z(0))):(line("line_c085")) with lines lw 2.5 dt 2 lc rgb RULE title "line, slope 0.85", \
       rows using (here_is(j, z(0))):(line("line_c070")) with lines lw 2.5 dt 3 lc rgb "#cc79a7" title "line, slope 0.7", \
       x with lines lw 1 dt 3 lc rgb "#888888" title "both axles alike, f = z"
}
unset multiplot
