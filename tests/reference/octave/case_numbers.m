% SPDX-License-Identifier: GPL-3.0-or-later
% c = case_numbers(file): the parameters of a resolved.cfg as nested structs, in the file's units.
%
% The format: groups `name: { ... };`, settings `key = value;`, values that are numbers, truth
% values, texts or tables ((a, b), (c, d)), and comments from # to the end of the line. A '-' in a
% name becomes '_', because a field of a struct cannot hold it.
function c = case_numbers(file)
  text = fileread(file);
  text = regexprep(text, '#[^\n]*', '');
  c = struct();
  place = {};
  token = '([\w-]+)\s*:\s*\{|\}\s*;|([\w-]+)\s*=\s*("[^"]*"|[^;]*);';
  [whole, parts] = regexp(text, token, 'match', 'tokens');
  for i = 1:numel(whole)
    if whole{i}(1) == '}'
      place(end) = [];
      continue
    end
    name = strrep(parts{i}{1}, '-', '_');
    if whole{i}(end) == '{'
      place{end + 1} = name;
    else
      c = setfield(c, place{:}, name, value_of(strtrim(parts{i}{2})));
    end
  end
end

function value = value_of(text)
  if text(1) == '"'
    value = text(2:end - 1);
  elseif strcmp(text, 'true') || strcmp(text, 'false')
    value = strcmp(text, 'true');
  elseif text(1) == '('
    rows = regexp(text(2:end - 1), '\(([^()]*)\)', 'tokens');
    rows = cellfun(@(row) sscanf(row{1}, '%f,')', rows, 'UniformOutput', false);
    value = vertcat(rows{:});
  else
    value = str2double(text);
  end
end
