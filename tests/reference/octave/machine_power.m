% SPDX-License-Identifier: GPL-3.0-or-later
% p = machine_power(m, torque, w): electric power into the DC link, W, of a machine whose gear has
% the braking torque `torque`, N m at the axle, at axle speed w, rad/s; negative when driving.
%
%   braking:  shaft torque = torque eta/ratio,    P = T w_s - loss(w_s, T)
%   driving:  shaft torque = torque/(eta ratio),  P = -(|T| w_s + loss(w_s, T))
%   loss = k0 + k1 w_s + k2 w_s^2 + kT T^2, or a map over speed and torque, straight between;
%   idle `gated-off`: nothing is lost without torque.
%
% [p, shaft] = ... also gives the power at the shaft, W, positive while braking.
function [p, shaft] = machine_power(m, torque, w)
  eta = m.gear_efficiency_percent/100;
  ws = w*m.ratio;
  ts = torque/m.ratio;
  ts = ts.*(eta*(torque > 0) + (torque <= 0)/eta);
  if isfield(m, 'loss_map')
    loss = map_loss(m.loss_map, ws*30/pi, abs(ts));
  else
    loss = m.loss_k0_w + m.loss_k1_w_per_radps*ws + m.loss_k2_w_per_radps2*ws.^2 ...
           + m.loss_kt_w_per_nm2*ts.^2;
  end
  if strcmp(m.idle, 'gated-off')
    loss(torque == 0) = 0;
  end
  shaft = ts.*ws;
  p = shaft - loss;
end

function loss = map_loss(map, rpm, torque)
  x = unique(map(:, 1));
  y = unique(map(:, 2));
  rows = sortrows(map, [1, 2]);
  grid = reshape(rows(:, 3), numel(y), numel(x));
  loss = interp2(x', y, grid, min(rpm, x(end)), min(torque, y(end)), 'linear');
end
