/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "model/disc.h"
#include "model/friction.h"
#include "model/hydraulics.h"
#include "reference.h"

/** Pressure to torque, heat of the rotors, lines and calipers. */

static const double BAR = 1e5;
static const double AMBIENT = 293.15;

/* one disc of 7 kg, c = 460 J/(kg K) */
static struct bw_friction one_disc(void) {
  return (struct bw_friction){.per_pressure = 1.0,
                              .threshold = 0.5 * BAR,
                              .pad_nominal = 0.38,
                              .pad_scale = 1.0,
                              .heat_capacity = 7.0 * 460.0,
                              .heat_share = 1.0};
}

/* rise (K) by `energy` within a nanosecond */
static double stop(const struct bw_friction *friction, double temperature, double energy) {
  return bw_friction_heat(friction, temperature, energy / 1e-9, 0.0, AMBIENT, 1e-9);
}

static void torque(struct reference_list *list) {
  static const struct reference_origin FORM = {"2 mu (p - p0) A r eta; the form is from memory",
                                               MARK_FROM_MEMORY_DERIVED};
  struct bw_friction friction = one_disc();
  friction.per_pressure = 2.0 * 0.38 * acos(-1.0) / 4.0 * 0.057 * 0.057 * 0.125 * 0.98;
  const double gain = bw_friction_gain(&friction, 400.0);
  reference_add(list, "FRI-1", "N m/bar", FORM, (struct reference_pair){23.757, gain * BAR, 5.1e-4},
                "57 mm piston, mu 0.38, r 0.125 m, eta 0.98");
  reference_add(list, "FRI-1", "N m", FORM,
                (struct reference_pair){1413.53, gain * (60.0 * BAR - friction.threshold), 5.1e-3},
                "the same at 60 bar, threshold 0.5 bar");
}

static void heat(struct reference_list *list) {
  static const struct reference_origin NOTE = {
      "a public engineering note on disc temperature: share x energy/(m c)", MARK_READ};
  static const struct reference_origin REPEATED = {"geometric series; form in Limpert, from memory",
                                                   MARK_DERIVED};
  static const struct reference_origin DRAG = {"first-order lag of a lumped disc", MARK_DERIVED};
  struct bw_friction friction = one_disc();
  const double energy = 0.35 * 0.5 * 1500.0 * (100.0 / 3.6) * (100.0 / 3.6);
  reference_add(list, "FRI-4", "K", NOTE,
                (struct reference_pair){62.903, stop(&friction, 311.0, energy) - 311.0, 5.1e-4},
                "35 %% of a stop from 100 km/h into one disc");
  friction.heat_share = 0.95;
  reference_add(list, "FRI-4", "K", NOTE,
                (struct reference_pair){59.757, stop(&friction, 311.0, energy) - 311.0, 5.1e-4},
                "the same, 95 %% of it to the disc");
  friction = one_disc();
  friction.cooling = 4.0;
  static const int COUNT[4] = {1, 5, 10, 100};
  static const double WANTED[4] = {59.8, 258.8, 437.2, 831.5};
  double temperature = AMBIENT;
  for (int n = 1, k = 0; n <= 100; n++) {
    temperature = stop(&friction, temperature, 59.757 * 3220.0);
    if (n == COUNT[k]) {
      reference_add(list, "FRI-6", "K", REPEATED,
                    (struct reference_pair){WANTED[k], temperature - AMBIENT, 0.051},
                    "rise after stop %d, one a minute, 4 W/K", n);
      k++;
    }
    temperature = bw_friction_heat(&friction, temperature, 0.0, 17.0, AMBIENT, 60.0);
  }
  temperature = AMBIENT;
  for (int i = 0; i < 30000; i++) {
    temperature = bw_friction_heat(&friction, temperature, 5e3, 25.0, AMBIENT, 0.01);
  }
  reference_add(list, "FRI-7", "K", DRAG,
                (struct reference_pair){388.9, temperature - AMBIENT, 0.051},
                "5 kW for 300 s, 4 W/K");
  temperature = bw_friction_heat(&friction, temperature, 5e3, 25.0, AMBIENT, 1e6);
  reference_add(list, "FRI-7", "K", DRAG,
                (struct reference_pair){1250.0, temperature - AMBIENT, 1e-6}, "the same for ever");
}

/* a stop whose flux falls linearly, on the face of a disc so thick that its far side sees nothing
 */
static void face(struct reference_list *list) {
  static const struct reference_origin FORM = {
      "half-space, flux falling linearly: closed form, also by finite differences", MARK_DERIVED};
  static const struct reference_origin LIMPERT = {"Limpert: factor of q0 sqrt(t/(rho c k))",
                                                  MARK_FROM_MEMORY};
  enum { STEPS = 4000 };
  const struct bw_disc disc = {.area = 0.08,
                               .depth = 0.025,
                               .density = 7250.0,
                               .specific_heat = 460.0,
                               .conductivity = 50.0};
  const double flux = 1.635e6;
  const double length = 3.53947 / STEPS;
  const struct bw_disc_step step = bw_disc_step_make(&disc, length);
  struct bw_disc_face state = {{0.0}};
  double mean = 0.0;
  double peak = 0.0;
  double time = 0.0;
  for (int k = 0; k < STEPS; k++) {
    const double power = disc.area * flux * (1.0 - (k + 0.5) / STEPS);
    mean += power * length / bw_disc_capacity(&disc);
    const double rise = mean + bw_disc_face_advance(&step, &state, power);
    time = rise > peak ? (k + 1) * length : time;
    peak = fmax(peak, rise);
  }
  reference_add(list, "FRI-5", "K", FORM, (struct reference_pair){126.708, peak, 0.02},
                "hottest face, 1.635 MW/m2 falling to 0 in 3.53947 s, cast iron");
  reference_explain(list, "a slab of 25 mm, 17 terms");
  reference_add(list, "FRI-5", "s", FORM, (struct reference_pair){1.770, time, 0.02},
                "the same, when");
  reference_explain(list, "the top is flat");
  const double scale = flux * sqrt(3.53947 / (7250.0 * 460.0 * 50.0));
  reference_add(list, "FRI-5", "1", LIMPERT, (struct reference_pair){0.53, peak / scale, 0.005},
                "the same over q0 sqrt(t/(rho c k))");
}

static void hydraulics(struct reference_list *list) {
  static const struct reference_origin SOUND = {"sqrt(bulk modulus/density)", MARK_DERIVED};
  static const struct reference_origin QUOTE = {"a public calculator page, 4500 ft/s (weak)",
                                                MARK_READ};
  static const struct reference_origin SIZE = {"3 to 4 cm3 per front caliper at 100 bar",
                                               MARK_FROM_MEMORY};
  const struct bw_hydraulics line = {.line_length = 5.0};
  static const double MODULUS[3] = {1.5e9, 1.8e9, 2.0e9};
  static const double SPEED[3] = {1190.0, 1303.0, 1374.0};
  for (int i = 0; i < 3; i++) {
    reference_add(list, "HYD-1", "m/s", SOUND,
                  (struct reference_pair){
                      SPEED[i], 5.0 / bw_hydraulics_line_delay(&line, MODULUS[i], 1060.0), 0.51},
                  "wave speed at %.1f GPa, 1060 kg/m3", MODULUS[i] * 1e-9);
  }
  reference_add(
      list, "HYD-1", "m/s", QUOTE,
      (struct reference_pair){1372.0, 5.0 / bw_hydraulics_line_delay(&line, 2.0e9, 1060.0), 10.0},
      "wave speed quoted for brake fluid");
  reference_explain(list, "the page tells no bulk modulus; 2 GPa here");
  reference_add(
      list, "HYD-2", "ms", SOUND,
      (struct reference_pair){
          3.6, 1e3 * bw_hydraulics_line_delay(&line, 1372.0 * 1372.0 * 1060.0, 1060.0), 0.051},
      "delay of 5 m at 1372 m/s");
  /* the pair of calipers that tests and cases use */
  const struct bw_hydraulics pair = {
      .soft_volume = 1.6e-6, .soft_pressure = 3e5, .elasticity = 0.05e-11};
  reference_add(list, "HYD-8", "cm3", SIZE,
                (struct reference_pair){3.5, 0.5e6 * bw_hydraulics_volume(&pair, 1e7), 0.5},
                "volume of a front caliper at 100 bar");
  reference_explain(list, "a range: its middle, half its width allowed");
}

void reference_friction(struct reference_list *list) {
  torque(list);
  heat(list);
  face(list);
  hydraulics(list);
}
