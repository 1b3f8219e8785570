/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "model/tyre.h"
#include "reference.h"

#include <string.h>

/** Tyre curves of published coefficients. */

static const struct reference_origin PUBLIC_FILES = {
    "Burckhardt's coefficients as public code files quote them", MARK_FROM_MEMORY_DERIVED};
static const struct reference_origin TABLE = {"Kiencke and Nielsen's table of them",
                                              MARK_FROM_MEMORY_DERIVED};
static const struct reference_origin MAGIC = {"Bakker, Nyborg, Pacejka, SAE 870421, set of 1987",
                                              MARK_FROM_MEMORY_DERIVED};
static const struct reference_origin SIMPLE = {"often used simple sets of the Magic Formula",
                                               MARK_FROM_MEMORY_DERIVED};

static void burckhardt(struct reference_list *list) {
  static const char *const ID[] = {"TYR-1", "TYR-2", "TYR-3", "TYR-4", "TYR-5", "TYR-6", "TYR-7"};
  static const double WANTED[7][4] = {
      {0.1700, 1.1700, 0.7601, 30.19}, {0.1308, 0.8013, 0.5100, 28.64},
      {0.1600, 1.0900, 0.6600, 29.60}, {0.4000, 1.0000, 0.7000, 8.19},
      {0.1400, 0.3800, 0.2800, 13.38}, {0.0600, 0.1900, 0.1300, 18.25},
      {0.0314, 0.0500, 0.0490, 15.32}};
  for (int i = 0; i < 7; i++) {
    struct bw_tyre tyre = {.surface = (enum bw_tyre_surface)i, .low_speed = 0.1};
    assert_int_equal(bw_tyre_prepare(&tyre, NULL), BW_OK);
    double slope = 0.0;
    const double locked = bw_tyre_friction(&tyre, 1.0, 1.0, &slope);
    const struct reference_origin origin = i < 2 ? PUBLIC_FILES : TABLE;
    const char *name = bw_tyre_surface_text(tyre.surface);
    const double ours[4] = {tyre.peak_slip, tyre.peak, locked, tyre.stiffness};
    static const char *const WHAT[4] = {"slip of the peak", "peak", "locked", "slope at zero slip"};
    for (int k = 0; k < 4; k++) {
      reference_add(list, ID[i], "1", origin,
                    (struct reference_pair){WANTED[i][k], ours[k], k < 3 ? 6e-5 : 6e-3}, "%s: %s",
                    name, WHAT[k]);
    }
  }
}

static void small_slip(struct reference_list *list) {
  static const struct {
    enum bw_tyre_surface surface;
    double slip;
    double mu;
  } WANTED[] = {{BW_TYRE_ASPHALT_DRY, 0.00345, 0.1}, {BW_TYRE_ASPHALT_DRY, 0.00723, 0.2},
                {BW_TYRE_ASPHALT_DRY, 0.01138, 0.3}, {BW_TYRE_ASPHALT_WET, 0.00372, 0.1},
                {BW_TYRE_ASPHALT_WET, 0.00798, 0.2}, {BW_TYRE_ASPHALT_WET, 0.01298, 0.3},
                {BW_TYRE_SNOW, 0.00772, 0.1},        {BW_TYRE_SNOW, 0.01590, 0.15}};
  for (size_t i = 0; i < sizeof WANTED / sizeof *WANTED; i++) {
    struct bw_tyre tyre = {.surface = WANTED[i].surface, .low_speed = 0.1};
    assert_int_equal(bw_tyre_prepare(&tyre, NULL), BW_OK);
    double slope = 0.0;
    const double mu = bw_tyre_friction(&tyre, 1.0, WANTED[i].slip, &slope);
    reference_add(list, "4a", "1", WANTED[i].surface == BW_TYRE_SNOW ? TABLE : PUBLIC_FILES,
                  (struct reference_pair){WANTED[i].mu, mu, 0.6e-5 * slope}, "%s: mu at slip %.5f",
                  bw_tyre_surface_text(WANTED[i].surface), WANTED[i].slip);
    reference_explain(list, "the slip is printed to five places");
  }
}

static void magic_formula(struct reference_list *list) {
  static const char *const ID[] = {"TYR-8", "TYR-9", "TYR-10", "TYR-11"};
  static const double WANTED[4][6] = {{2.0, 2202.8, 1.1014, 11.86, 1878.1, 1530.8},
                                      {4.0, 4235.2, 1.0588, 10.35, 3823.7, 2898.6},
                                      {6.0, 6097.2, 1.0162, 9.18, 5687.1, 4071.7},
                                      {8.0, 7788.8, 0.9736, 8.13, 7429.8, 5023.3}};
  for (int i = 0; i < 4; i++) {
    const double f = WANTED[i][0];
    const double d = -21.3 * f * f + 1144.0 * f;
    const double bcd = (49.6 * f * f + 226.0 * f) / exp(0.069 * f);
    struct bw_tyre tyre = {.model = BW_TYRE_MAGIC,
                           .magic = {100.0 * bcd / (1.65 * d), 1.65, d / (1e3 * f),
                                     -0.006 * f * f + 0.056 * f + 0.486},
                           .low_speed = 0.1};
    assert_int_equal(bw_tyre_prepare(&tyre, NULL), BW_OK);
    double slope = 0.0;
    const double load = 1e3 * f;
    const struct {
      const char *what;
      const char *unit;
      double ours;
      double tolerance;
    } rows[5] = {{"peak force", "N", load * tyre.peak, 0.06},
                 {"peak", "1", tyre.peak, 6e-5},
                 {"slip of the peak", "%", 100.0 * tyre.peak_slip, 6e-3},
                 {"force at 5 %", "N", load * bw_tyre_friction(&tyre, 1.0, 0.05, &slope), 0.06},
                 {"force at 100 %", "N", load * bw_tyre_friction(&tyre, 1.0, 1.0, &slope), 0.06}};
    for (int k = 0; k < 5; k++) {
      reference_add(list, ID[i], rows[k].unit, MAGIC,
                    (struct reference_pair){WANTED[i][k + 1], rows[k].ours, rows[k].tolerance},
                    "load %.0f kN: %s", f, rows[k].what);
    }
  }
}

static void simple_sets(struct reference_list *list) {
  static const char *const NAME[4] = {"dry", "wet", "snow", "ice"};
  static const double SET[4][4] = {
      {10, 1.9, 1.0, 0.97}, {12, 2.3, 0.82, 1}, {5, 2, 0.3, 1}, {4, 2, 0.1, 1}};
  static const double WANTED[4][3] = {{1.000, 0.180, 0.9145},
                                      {0.820, 0.0882, 0.637},
                                      {0.300, 0.312, 0.2855},
                                      {0.100, 0.389, 0.0962}};
  static const char *const WHAT[3] = {"peak", "slip of the peak", "locked"};
  for (int i = 0; i < 4; i++) {
    struct bw_tyre tyre = {.model = BW_TYRE_MAGIC, .low_speed = 0.1};
    memcpy(tyre.magic, SET[i], sizeof tyre.magic);
    assert_int_equal(bw_tyre_prepare(&tyre, NULL), BW_OK);
    double slope = 0.0;
    const double ours[3] = {tyre.peak, tyre.peak_slip, bw_tyre_friction(&tyre, 1.0, 1.0, &slope)};
    for (int k = 0; k < 3; k++) {
      reference_add(list, "4c", "1", SIMPLE, (struct reference_pair){WANTED[i][k], ours[k], 6e-4},
                    "%s: %s", NAME[i], WHAT[k]);
    }
  }
}

/* measured cars against the curves: an uncertainty to carry, not an agreement */
static void measured(struct reference_list *list) {
  static const struct reference_origin TESTS = {
      "Nicolletti, Navin, Macnabb, SAE 1996, winter traction tests, abstract", MARK_READ};
  static const enum bw_tyre_surface SURFACE[2] = {BW_TYRE_SNOW, BW_TYRE_ICE};
  static const double WANTED[2] = {0.35, 0.09};
  for (int i = 0; i < 2; i++) {
    struct bw_tyre tyre = {.surface = SURFACE[i], .low_speed = 0.1};
    assert_int_equal(bw_tyre_prepare(&tyre, NULL), BW_OK);
    reference_add(list, "4d", "1", TESTS,
                  (struct reference_pair){WANTED[i], tyre.peak, 0.5 * WANTED[i]},
                  "mean braking coefficient at -6 C: %s", i == 0 ? "packed snow" : "bare ice");
    reference_explain(list, "winter tyres measured; the curve's surface is another: sweep both");
  }
}

void reference_tyres(struct reference_list *list) {
  burckhardt(list);
  small_slip(list);
  magic_formula(list);
  simple_sets(list);
  measured(list);
}
