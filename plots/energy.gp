# SPDX-License-Identifier: GPL-3.0-or-later
# Where each strategy's braking energy went, beside the most that could have been recovered.
#   gnuplot -c plots/energy.gp RESULTS-FOLDER OUT.svg 
# Reads summary.csv. OUT ends in .svg, .png or .pdf.

if (ARGC < 2) {
  print "usage: gnuplot -c plots/energy.gp RESULTS-FOLDER OUT.svg "
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
high = 600
load here . "style.gp"

rows = folder . "/summary.csv"
stats rows using (column("energy_friction_front_kj")) nooutput name "N"
set key maxrows 3
set bmargin 7.5
set title "Braking energy by strategy"
set xlabel "energy / kJ"
set yrange [N_records - 0.4:-0.6]
set lmargin 24
set style fill solid 1.0 border lc rgb "white"
set arrow 1 from first 0, graph 0 to first 0, graph 1 nohead lc rgb INK

battery(x) = column("energy_battery_kj")
axle(x) = column("energy_machine_axle_kj")
f1(x) = axle(0) + column("energy_friction_front_kj")
f2(x) = f1(0) + column("energy_friction_rear_kj")
top(x) = $0 - 0.36
low(x) = $0 + 0.36

plot rows using (0.5 * battery(0)):0:(0.0):(above(battery(0))):(top(0)):(low(0)):yticlabels(short(strcol("strategy"), 24)) with boxxyerror lc rgb MACHINE_FRONT title "into the battery", \
     "" using (battery(0)):0:(battery(0)):(axle(0)):(top(0)):(low(0)) with boxxyerror lc rgb LOST title "lost from axle to battery", \
     "" using (axle(0)):0:(axle(0)):(f1(0)):(top(0)):(low(0)) with boxxyerror lc rgb FRICTION_FRONT title "friction front", \
     "" using (f1(0)):0:(f1(0)):(f2(0)):(top(0)):(low(0)) with boxxyerror lc rgb FRICTION_REAR title "friction rear", \
     "" using (column("energy_recoverable_rule_kj")):0:(0.42) with yerrorbars pt 5 ps 0.2 lw 3 lc rgb INK title "most recoverable under the rule"
