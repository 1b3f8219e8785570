/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BRAKEWEAVE_H
#define BRAKEWEAVE_H

/** The whole public interface of libbrakeweave, in the order of the data's way:
 *  bw_case_load() reads and validates a case, bw_evaluate() runs one strategy on it under every
 *  assessment, the writers of output/ put results into tables and files. */

#include "alloc.h"
#include "status.h"

#include "input/case.h"
#include "input/case_base.h"
#include "input/catalogue.h"
#include "input/csv.h"
#include "input/descent_read.h"
#include "input/number.h"
#include "input/param.h"

#include "strategies/blend.h"
#include "strategies/registry.h"

#include "sim/run.h"

#include "assess/comfort.h"
#include "assess/cycle_energy.h"
#include "assess/evaluate.h"
#include "assess/fault_search.h"
#include "assess/lamp.h"
#include "assess/moment.h"
#include "assess/pad_heat.h"
#include "assess/requirements.h"
#include "assess/summary.h"
#include "assess/verdict.h"

#include "batch/assess.h"
#include "batch/assess_balance.h"
#include "batch/assess_cycle.h"
#include "batch/assess_descent.h"
#include "batch/assess_fade.h"
#include "batch/assess_park.h"
#include "batch/assess_response.h"
#include "batch/assess_stops.h"
#include "batch/contain.h"
#include "batch/draws.h"
#include "batch/evaluate_contained.h"
#include "batch/fault_plan.h"
#include "batch/find_edge.h"
#include "batch/plugin.h"
#include "batch/sweep_plan.h"
#include "batch/sweep_run.h"
#include "batch/sweep_window.h"

#include "output/assess_table.h"
#include "output/case_header.h"
#include "output/comfort_csv.h"
#include "output/comparison.h"
#include "output/explain.h"
#include "output/faults_table.h"
#include "output/figure_view.h"
#include "output/figures.h"
#include "output/find_table.h"
#include "output/folder.h"
#include "output/grid.h"
#include "output/journal.h"
#include "output/json.h"
#include "output/kept.h"
#include "output/part.h"
#include "output/regeneration_csv.h"
#include "output/report_html.h"
#include "output/resolved_file.h"
#include "output/result.h"
#include "output/result_csv.h"
#include "output/result_files.h"
#include "output/sweep_statistics.h"
#include "output/trace_csv.h"
#include "output/trace_thin.h"
#include "output/waterfall_csv.h"

#endif
