% SPDX-License-Identifier: GPL-3.0-or-later
% car = car_of(c): vehicle, machines and brakes in SI units from the numbers of a resolved.cfg.
% Index 1 is the front axle, 2 the rear.
function car = car_of(c)
  car.g = 9.81;
  load = c.vehicle.(c.vehicle.load_state);
  car.mass = load.mass_kg;
  car.base = c.vehicle.wheelbase_m;
  car.to_rear = car.base - load.cg_to_front_m;
  car.height = load.cg_height_m;
  car.radius = c.vehicle.tyre_radius_m;
  car.slope = c.vehicle.slip_stiffness;
  if strcmp(c.vehicle.road_load, 'coast-down')
    car.road = [c.vehicle.coast_f0_n, c.vehicle.coast_f1_n_per_kmh*3.6, ...
                c.vehicle.coast_f2_n_per_kmh2*3.6^2];
  else
    air = 0.5*c.ambient.air_density_kgpm3*c.vehicle.drag_area_m2;
    car.road = [c.vehicle.rolling_coefficient*car.mass*car.g, 0, air];
  end
  axles = {'front', 'rear'};
  for i = 1:2
    m = c.machine.(axles{i});
    car.inertia(i) = c.vehicle.(['wheel_inertia_' axles{i} '_kgm2']);
    car.machine{i} = m;
    car.fitted(i) = m.fitted;
    if m.fitted
      car.inertia(i) += m.inertia_kgm2*m.ratio^2;
    end
    b = c.friction.(axles{i});
    car.brake{i} = b;
    car.nominal(i) = b.torque_per_pressure_nm_per_bar;
  end
  car.nominal /= sum(car.nominal);
  % every rotating mass turns with the wheels: m_eff = m + sum(J)/r^2
  car.mass_effective = car.mass + sum(car.inertia)/car.radius^2;
  share = c.driver.drive_front_share;
  car.drive = [share, 1 - share];
  if ~all(car.fitted)
    car.drive = double(car.fitted);
  end
  car.ambient = c.ambient.temperature_c;
end
