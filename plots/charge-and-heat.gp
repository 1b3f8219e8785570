# SPDX-License-Identifier: GPL-3.0-or-later
# State of charge, and temperatures of rotors and machines, along the run.
#   gnuplot -c plots/charge-and-heat.gp RESULTS-FOLDER OUT.svg STRATEGY
# Reads trace-STRATEGY.csv. OUT ends in .svg, .png or .pdf.

if (ARGC < 3) {
  print "usage: gnuplot -c plots/charge-and-heat.gp RESULTS-FOLDER OUT.svg STRATEGY"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
strategy = ARG3
high = 640
load here . "style.gp"

stats trace using "time_s" nooutput name "T"
fine_x = T_max / 600.0
fine_y = 1e300
stats trace using "rotor_temperature_front_c" nooutput name "R"
set xrange [0:T_max]
set multiplot
set lmargin 14
set rmargin 11
set tmargin at screen 0.93
set bmargin at screen 0.61
set title sprintf("State of charge and temperatures, strategy '%s'", short(ARG3, 40))
set format x ""
set ylabel "state of charge / %"
set y2label "charge limit / kW"
set y2tics
set y2range [0:*]
set key at screen 0.5, screen 0.09 center bottom
plot trace using "time_s":(thin(1, column("time_s"), column("soc_percent"))) with lines lw 2 lc rgb MACHINE_FRONT title "state of charge", \
     "" using "time_s":(thin(2, column("time_s"), column("charge_limit_kw"))) axes x1y2 with lines lw 1.5 dt 2 lc rgb "#777777" title "charge limit"
unset title
unset y2tics
unset y2label
set format x "%g"
set tmargin at screen 0.585
set bmargin at screen 0.25
set xlabel "time / s"
set ylabel "temperature / °C"
set key at screen 0.5, screen 0.015 center bottom maxrows 2
# a curve without points would be warned of, so it is not named then
front = 0
rear = 0
stats trace using (strcol("machine_temperature_front_c") ne "" ? (front = 1, 0) : 0) nooutput
stats trace using (strcol("machine_temperature_rear_c") ne "" ? (rear = 1, 0) : 0) nooutput
machines = front ? ', "" using "time_s":(thin(5, column("time_s"), column("machine_temperature_front_c"))) with lines lw 2 dt 2 lc rgb MACHINE_FRONT title "machine front"' : ""
machines = machines . (rear ? ', "" using "time_s":(thin(6, column("time_s"), column("machine_temperature_rear_c"))) with lines lw 2 dt 3 lc rgb MACHINE_REAR title "machine rear"' : "")
plot trace using "time_s":(thin(3, column("time_s"), column("rotor_temperature_front_c"))) with lines lw 2 lc rgb FRICTION_FRONT title "rotor front", \
     "" using "time_s":(thin(4, column("time_s"), column("rotor_temperature_rear_c"))) with lines lw 2 dt 4 lc rgb FRICTION_REAR title "rotor rear" @machines
unset multiplot
