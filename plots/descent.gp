# SPDX-License-Identifier: GPL-3.0-or-later
# State of charge, charge limit, braking power by source and temperatures along a descent.
#   gnuplot -c plots/descent.gp ASSESSMENT-FOLDER OUT.svg STRATEGY [PROFILE CHARGE LOAD-STATE]
# Reads descent.csv; without PROFILE the descent with the hottest disc. OUT ends in .svg, .png or .pdf.

if (ARGC < 3) {
  print "usage: gnuplot -c plots/descent.gp ASSESSMENT-FOLDER OUT.svg STRATEGY [PROFILE CHARGE LOAD-STATE]"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
strategy = ARG3
high = 800
load here . "style.gp"
rows = folder . "/descent.csv"

wanted_p = ARGC > 3 ? as_read(ARG4) : ""
wanted_c = ARGC > 4 ? ARG5 : ""
wanted_l = ARGC > 5 ? ARG6 : ""
may(x) = strcol("strategy") eq as_read(ARG3) && (wanted_p eq "" || strcol("profile") eq wanted_p) && (wanted_c eq "" || strcol("charge") eq wanted_c) && (wanted_l eq "" || strcol("load_state") eq wanted_l)
hottest = -1e300
heat(x) = column("rotor_front_c") > column("rotor_rear_c") ? column("rotor_front_c") : column("rotor_rear_c")
note(h) = h > hottest ? (hottest = h, profile = strcol("profile"), charge = strcol("charge"), load_state = strcol("load_state"), 0) : 0
profile = ""
charge = ""
load_state = ""
stats rows using (may(0) ? note(heat(0)) : NaN) nooutput
d(x) = may(0) && strcol("profile") eq profile && strcol("charge") eq charge && strcol("load_state") eq load_state ? column("distance_m") / 1000.0 : NaN
stats rows using (d(0)) nooutput name "D"

stats rows using (d(0) == d(0) ? column("soc_percent") : NaN) nooutput name "S"
set multiplot
set lmargin 11
set rmargin 11
set xrange [0:D_max]
set format x ""
set tmargin at screen 0.945
set bmargin at screen 0.705
set title sprintf("Descent '%s', %s, charge '%s', strategy '%s'", profile, load_state, charge, short(ARG3, 30))
set ylabel "state of charge / %"
set y2label "charge limit / kW"
set y2tics
set y2range [0:*]
if (S_max - S_min < 1) { set yrange [S_min - 1:S_max + 1] } else { set yrange [*:*] }
set key at graph 0.98, graph 0.35 right top maxrows 2 opaque
plot rows using (d(0)):"soc_percent" with lines lw 2.5 lc rgb MACHINE_FRONT title "state of charge", \
     rows using (d(0)):"charge_limit_kw" axes x1y2 with lines lw 2 dt 2 lc rgb "#555555" title "charge limit"
unset title
unset y2tics
unset y2label
set tmargin at screen 0.675
set bmargin at screen 0.435
set ylabel "braking power / kW"
set yrange [0:*]
set style fill solid 1.0 noborder
plot rows using (d(0)):(above(column("machine_axle_kw")) + column("friction_kw")) with filledcurves y1=0 lc rgb FRICTION_FRONT title "friction", \
     rows using (d(0)):(above(column("machine_axle_kw"))) with filledcurves y1=0 lc rgb MACHINE_FRONT title "machines"
set tmargin at screen 0.405
set bmargin at screen 0.155
set format x "%g"
set xlabel "distance / km"
set ylabel "temperature / °C"
set key at screen 0.5, screen 0.012 center bottom maxrows 1
plot rows using (d(0)):"rotor_front_c" with lines lw 2.5 lc rgb FRICTION_FRONT title "disc front", \
     rows using (d(0)):"rotor_rear_c" with lines lw 2.5 dt 4 lc rgb FRICTION_REAR title "disc rear", \
     rows using (d(0)):"pad_front_c" with lines lw 1.5 dt 2 lc rgb "#7a2f00" title "pad front", \
     rows using (d(0)):"pad_rear_c" with lines lw 1.5 dt 3 lc rgb "#777777" title "pad rear"
unset multiplot
