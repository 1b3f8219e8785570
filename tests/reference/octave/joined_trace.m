% SPDX-License-Identifier: GPL-3.0-or-later
% tr = joined_trace(file, width, dt): the speed between the points of a cycle, in steps of dt.
%
% Straight lines between the points are convolved with a box of `width` seconds:
%   v(t) = [S(t + width/2) - S(t - width/2)]/width,   S(t) = integral of the straight lines,
% which keeps the distance and makes the acceleration continuous. A step goes from speed v0 to v1:
%   a = (v1 - v0)/dt,  v = (v0 + v1)/2,
% so that the sums of a v dt give the change of v^2/2 exactly.
function tr = joined_trace(file, width, dt)
  lines = strsplit(fileread(file), "\n");
  lines = lines(~strncmp(lines, '#', 1) & ~cellfun(@isempty, lines));
  points = cellfun(@(line) sscanf(line, '%f,')', lines(2:end), 'UniformOutput', false);
  points = vertcat(points{:});
  time = points(:, 1);
  speed = points(:, 2)/3.6;
  ends = (0:round((time(end) - time(1))/dt))'*dt + time(1);
  at = (way(time, speed, ends + width/2) - way(time, speed, ends - width/2))/width;
  tr.dt = dt;
  tr.v = (at(1:end - 1) + at(2:end))/2;
  tr.v0 = at(1:end - 1);
  tr.v1 = at(2:end);
  tr.a = diff(at)/dt;
end

% integral of the straight lines from the first point to t; ahead and behind the speed stands
function s = way(time, speed, t)
  knots = [0; cumsum(diff(time).*(speed(1:end - 1) + speed(2:end))/2)];
  inside = min(max(t, time(1)), time(end));
  k = min(floor(interp1(time, (1:numel(time))', inside)), numel(time) - 1);
  past = inside - time(k);
  slope = (speed(k + 1) - speed(k))./(time(k + 1) - time(k));
  s = knots(k) + past.*(speed(k) + slope.*past/2);
  s += (t - inside).*interp1(time, speed, inside);
end
