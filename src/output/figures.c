/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/figures.h"

#include "output/trace_csv.h"

#include <stdio.h>
#include <string.h>

/* bytes of a strategy in the name of a figure, so that the whole stays below 255 */
enum { STEM_MAX = 200 };

#define SUMMARY_ENERGY                                                                             \
  "strategy,energy_battery_kj,energy_machine_axle_kj,energy_friction_front_kj,"                    \
  "energy_friction_rear_kj,energy_recoverable_rule_kj"
#define TRACE_COLUMNS                                                                              \
  "time_s,speed_kmh,deceleration_mps2,demand_nm,charge_limit_kw,soc_percent,"                      \
  "machine_torque_front_nm,friction_torque_front_nm,machine_temperature_front_c,"                  \
  "rotor_temperature_front_c,axle_load_front_n,brake_force_front_n,machine_torque_rear_nm,"        \
  "friction_torque_rear_nm,machine_temperature_rear_c,rotor_temperature_rear_c,"                   \
  "axle_load_rear_n,brake_force_rear_n"
#define FRONT_COLUMNS     "strategy,energy_battery_kj,dip_peak_mps2,non_dominated"
#define WATERFALL_COLUMNS "strategy,speed_from_kmh,speed_to_kmh,step,energy_kj"
#define TRACE                                                                                      \
  { BW_FIGURE_TRACE, TRACE_COLUMNS }

static const struct bw_plot_figure FIGURES[] = {
    {.name = "energy",
     .script = "energy",
     .title = "Braking energy by strategy",
     .reading = "Bars, one per strategy: energy into the battery, lost between axle and battery, "
                "and heat of the friction brakes; a mark shows the most that could be recovered "
                "under the balance rule.",
     .need = {{"summary.csv", SUMMARY_ENERGY}}},
    {.name = "trade-off",
     .script = "trade-off",
     .argument = "summary.csv",
     .title = "Energy against comfort",
     .reading = "One point per strategy: energy into the battery over the deepest dip; up and "
                "to the left is better. A line joins those that none other beats in both.",
     .need = {{"summary.csv", FRONT_COLUMNS}}},
    {.name = "regeneration-map",
     .script = "regeneration-map",
     .title = "Allowed regeneration over speed and state of charge",
     .reading = "Colour: braking power that the machines may give at the axles. Lines part the "
                "regions by what limits it: machine, low speed, battery.",
     .need = {{"regeneration-map.csv", "speed_kmh,soc_percent,axle_power_kw,limited_by"}}},
    {.name = "brake-torque",
     .script = "brake-torque",
     .title = "Braking torque by source over time",
     .reading = "Stacked bands of machines and friction brakes, the demand as a line: white "
                "between them is braking that is missing. Speed dashed.",
     .is_per_strategy = true,
     .need = {{"summary.csv", "strategy"}, TRACE}},
    {.name = "torque-over-speed",
     .script = "torque-over-speed",
     .title = "Braking torque by source over speed",
     .reading = "Every moment of braking a point: what each source gave at each speed.",
     .is_per_strategy = true,
     .need = {{"summary.csv", "strategy"}, TRACE}},
    {.name = "hand-over",
     .script = "hand-over",
     .title = "The hand-over with the deepest dip",
     .reading = "Demand, braking and the missing area between them; the deceleration missing "
                "beside the felt line; the jerk below.",
     .is_per_strategy = true,
     .need = {{"handovers.csv", "strategy,start_s,end_s,dip_peak_mps2"}, TRACE}},
    {.name = "force-plane",
     .script = "force-plane",
     .title = "Brake forces of the axles",
     .reading = "Front against rear brake force over weight, with the line where both axles use "
                "the same adhesion, lines of constant braking rate, and the corridor that the "
                "published rule leaves.",
     .is_per_strategy = true,
     .need = {{"summary.csv", "strategy,balance_slope"}, TRACE}},
    {.name = "adhesion",
     .script = "adhesion",
     .title = "Adhesion used by the axles along the run",
     .reading = "Adhesion used by front and rear axle over the braking rate, with the line of "
                "the rule: points above it break it.",
     .is_per_strategy = true,
     .need = {{"summary.csv", "strategy,balance_slope"}, TRACE}},
    {.name = "waterfall",
     .script = "waterfall",
     .title = "Where the braking energy went",
     .reading = "Bars from the braking delivered down to what reached the cells, one per cause.",
     .is_per_strategy = true,
     .need = {{"waterfall.csv", WATERFALL_COLUMNS}}},
    {.name = "energy-by-speed",
     .script = "energy-by-speed",
     .title = "Braking energy by range of speed",
     .reading = "Stacked bars, one per range of speed: into the cells, losses, and friction by "
                "the cause that kept it from the machines.",
     .is_per_strategy = true,
     .need = {{"waterfall.csv", WATERFALL_COLUMNS}}},
    {.name = "charge-and-heat",
     .script = "charge-and-heat",
     .title = "State of charge, charge limit and temperatures",
     .reading = "State of charge and charge limit above, temperatures of discs and machines "
                "below, along the run.",
     .is_per_strategy = true,
     .need = {{"summary.csv", "strategy"}, TRACE}},
    {.name = "adhesion-band",
     .script = "adhesion-band",
     .title = "Adhesion utilisation as a band",
     .reading = "Adhesion used by front and rear axle over the braking rate, as bands over speed "
                "and charge, with the published lines and the range in which the order of the "
                "axles is asked for.",
     .is_per_strategy = true,
     .need = {{"balance.csv", "strategy,load_state,charge,braking_rate,front_used_low,"
                              "front_used_high,rear_used_low,rear_used_high,line_c085,line_c070"}}},
    {.name = "descent",
     .script = "descent",
     .title = "State of charge, charge limit and discs along a descent",
     .reading = "The descent with the hottest disc: charge and charge limit, braking power by "
                "source, temperatures of discs and pads over distance.",
     .is_per_strategy = true,
     .need = {{"descent.csv",
               "strategy,profile,load_state,distance_m,soc_percent,charge_limit_kw,"
               "machine_axle_kw,friction_kw,rotor_front_c,rotor_rear_c,pad_front_c,pad_rear_c"}}},
    {.name = "sweep-trade-off",
     .script = "trade-off",
     .argument = "sweep.csv",
     .title = "Energy against comfort over a sweep",
     .reading = "One point per run: energy into the battery over the deepest dip; up and to the "
                "left is better. A line joins those that none other beats in both.",
     .need = {{"sweep.csv", FRONT_COLUMNS}}},
    {.name = "sweep-map-energy",
     .script = "sweep-map",
     .argument = "energy_battery_kj",
     .title = "Energy into the battery over two swept keys",
     .reading = "Colour: mean energy into the battery at each pair of values; grey: failed.",
     .is_per_strategy = true,
     .when = BW_FIGURE_TWO_AXES,
     .need = {{"sweep.csv", "status,strategy,energy_battery_kj"}}},
    {.name = "sweep-map-dip",
     .script = "sweep-map",
     .argument = "dip_peak_mps2",
     .title = "Deepest dip over two swept keys",
     .reading = "Colour: mean of the deepest dip at each pair of values; grey: failed.",
     .is_per_strategy = true,
     .when = BW_FIGURE_TWO_AXES,
     .need = {{"sweep.csv", "status,strategy,dip_peak_mps2"}}},
    {.name = "sweep-lines-energy",
     .script = "sweep-lines",
     .argument = "energy_battery_kj",
     .title = "Energy into the battery over a swept key",
     .reading = "Lines: middle over everything else that was swept or drawn; bands: its spread.",
     .is_per_strategy = false,
     .when = BW_FIGURE_ONE_AXIS,
     .need = {{"sweep.csv", "status,strategy,energy_battery_kj"}}},
    {.name = "sweep-lines-dip",
     .script = "sweep-lines",
     .argument = "dip_peak_mps2",
     .title = "Deepest dip over a swept key",
     .reading = "Lines: middle over everything else that was swept or drawn; bands: its spread.",
     .is_per_strategy = false,
     .when = BW_FIGURE_ONE_AXIS,
     .need = {{"sweep.csv", "status,strategy,dip_peak_mps2"}}},
    {.name = "sensitivity-energy",
     .script = "sensitivity",
     .argument = "energy_battery_kj",
     .title = "What the spread of the energy comes from",
     .reading = "Bars: share of the variance that each tolerance causes alone, and with all its "
                "interactions, with 95 % intervals.",
     .is_per_strategy = true,
     .when = BW_FIGURE_ALL_INDICES,
     .need = {{"sweep-statistics.csv", "strategy,column"}}},
    {.name = "sensitivity-dip",
     .script = "sensitivity",
     .argument = "dip_peak_mps2",
     .title = "What the spread of the dip comes from",
     .reading = "Bars: share of the variance that each tolerance causes alone, and with all its "
                "interactions, with 95 % intervals.",
     .is_per_strategy = true,
     .when = BW_FIGURE_ALL_INDICES,
     .need = {{"sweep-statistics.csv", "strategy,column"}}},
    {.name = "faults-way",
     .script = "fault-matrix",
     .argument = "further_m",
     .title = "Faults: how much further the car goes",
     .reading = "A cell per fault and condition, the worse the darker: distance further than the "
                "sound car. Measures of severity; no rating.",
     .need = {{"faults.csv", "fault,condition,start_s,further_m,status"}}},
    {.name = "faults-gain",
     .script = "fault-matrix",
     .argument = "gained_mps2",
     .title = "Faults: unintended deceleration",
     .reading = "A cell per fault and condition, the worse the darker: greatest deceleration above "
                "that of the sound car. Measures of severity; no rating.",
     .need = {{"faults.csv", "fault,condition,start_s,gained_mps2,status"}}},
};

size_t bw_figure_count(void) {
  return sizeof FIGURES / sizeof FIGURES[0];
}

const struct bw_plot_figure *bw_figure_at(size_t index) {
  BW_ASSERT(index < bw_figure_count());
  return &FIGURES[index];
}

const char *bw_figure_trace_columns(void) {
  return TRACE_COLUMNS;
}

void bw_figure_file(const struct bw_figure_item *item, const char *ending,
                    char name[BW_FIGURE_FILE_MAX]) {
  char trace[BW_TRACE_FILE_NAME_MAX] = "";
  if (item->strategy == NULL) {
    (void)snprintf(name, BW_FIGURE_FILE_MAX, "%s.%s", item->figure->name, ending);
    return;
  }
  bw_trace_csv_name(item->strategy, trace);
  size_t length = strlen(trace) - strlen("trace-.csv");
  if (length > STEM_MAX) {
    /* not inside a letter: bytes 10xxxxxx go on with one */
    for (length = STEM_MAX; ((unsigned char)trace[strlen("trace-") + length] & 0xC0U) == 0x80U;) {
      length--;
    }
  }
  (void)snprintf(name, BW_FIGURE_FILE_MAX, "%s-%.*s.%s", item->figure->name, (int)length,
                 trace + strlen("trace-"), ending);
}
