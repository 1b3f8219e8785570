% SPDX-License-Identifier: GPL-3.0-or-later
% [w, lost] = axle_speeds(car, tr, torque): speeds of the axles, rad/s, and the power lost in the
% contact patches, W, under the axle torques (N m, columns front and rear, positive braking).
%
%   N_f = m [g b + h a_dec]/L, N_r = m g - N_f (level road, b from rear axle to centre of gravity)
%   F_i = (T_i - J_i a_dec/r)/r,  slip_i = F_i/(N_i slope),  w_i = v (1 - slip_i)/r
function [w, lost] = axle_speeds(car, tr, torque)
  dec = -tr.a;
  front = car.mass*(car.g*car.to_rear + car.height*dec)/car.base;
  normal = [front, car.mass*car.g - front];
  force = (torque - dec*car.inertia/car.radius)/car.radius;
  slip = force./(normal*car.slope);
  w = tr.v.*(1 - slip)/car.radius;
  lost = sum(torque/car.radius.*slip.*tr.v, 2);
end
