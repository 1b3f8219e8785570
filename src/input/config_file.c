/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/config_file.h"

#include "alloc.h"

#include <ctype.h>
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

enum { TEXT_MAX = 4 << 20 /* bytes */, WORD_MAX = 64 };

bool bw_path_beside(const char *file, const char *name, char path[BW_PATH_MAX]) {
  const char *slash = file == NULL ? NULL : strrchr(file, '/');
  const int folder = slash == NULL || name[0] == '/' ? 0 : (int)(slash - file) + 1;
  const int length = snprintf(path, BW_PATH_MAX, "%.*s%s", folder, folder > 0 ? file : "", name);
  return length >= 0 && length < BW_PATH_MAX;
}

static enum bw_status read_bytes(const char *path, char **text, size_t *length) {
  FILE *stream = fopen(path, "rb");
  if (stream == NULL) {
    return BW_E_IO;
  }
  char *bytes = bw_alloc(TEXT_MAX + 1, 1);
  if (bytes == NULL) {
    (void)fclose(stream);
    return BW_E_MEMORY;
  }
  *length = fread(bytes, 1, TEXT_MAX, stream);
  const bool is_read = ferror(stream) == 0;
  (void)fclose(stream);
  if (!is_read) {
    bw_free(bytes);
    return BW_E_IO;
  }
  char *fitted = bw_realloc(bytes, *length + 1, 1);
  *text = fitted != NULL ? fitted : bytes;
  (*text)[*length] = '\0';
  return BW_OK;
}

static enum bw_status refuse(const char *path, const char *from_file, int from_line,
                             const char *what, struct bw_diag *diag) {
  if (from_file != NULL) {
    return bw_fail_at(diag, BW_E_INPUT, from_file, from_line, "included '%s' %s", path, what);
  }
  return bw_fail_at(diag, BW_E_INPUT, path, 0, "%s", what);
}

static enum bw_status open_text(const char *path, const char *from_file, int from_line,
                                struct bw_config_file *out, struct bw_diag *diag) {
  struct stat info;
  if (stat(path, &info) != 0) {
    return refuse(path, from_file, from_line,
                  errno == ENOENT || errno == ENOTDIR ? "does not exist; check the path"
                                                      : "cannot be reached; check the path",
                  diag);
  }
  if (S_ISDIR(info.st_mode)) {
    return refuse(path, from_file, from_line, "is a folder; name a case file", diag);
  }
  if (info.st_size > TEXT_MAX) {
    return refuse(path, from_file, from_line, "is larger than 4 MiB; name a case file", diag);
  }
  const enum bw_status status = read_bytes(path, &out->text, &out->length);
  if (status == BW_E_MEMORY) {
    return bw_fail(diag, status, "out of memory for %s", path);
  }
  if (status != BW_OK) {
    return bw_fail_at(diag, status, path, 0, "cannot be read; check its permissions");
  }
  return BW_OK;
}

/* accept a UTF-8 mark and CRLF, refuse what is no text; *is_blank: nothing but blanks is there */
static enum bw_status clean_text(struct bw_config_file *file, bool *is_blank,
                                 struct bw_diag *diag) {
  if (file->length >= 3 && memcmp(file->text, "\xEF\xBB\xBF", 3) == 0) {
    memset(file->text, ' ', 3);
  }
  *is_blank = true;
  int line = 1;
  for (size_t i = 0; i < file->length; i++) {
    const unsigned char c = (unsigned char)file->text[i];
    if (c == '\r') {
      file->text[i] = ' ';
    } else if (iscntrl(c) && c != '\n' && c != '\t' && c != '\f' && c != '\v') {
      return bw_fail_at(diag, BW_E_INPUT, file->path, line,
                        "byte 0x%02x is no text; give a case file in plain text", c);
    }
    *is_blank = *is_blank && isspace(c);
    line += c == '\n';
  }
  return BW_OK;
}

static size_t end_of_line(const char *text, size_t i) {
  return i + strcspn(text + i, "\n");
}

/* past a quoted text that starts at `i`; 0 when the quote is not closed on its line */
static size_t skip_quoted(const char *text, size_t i) {
  for (size_t j = i + 1; text[j] != '\0' && text[j] != '\n'; j++) {
    if (text[j] == '"') {
      return j + 1;
    }
    j += text[j] == '\\' && text[j + 1] != '\0' && text[j + 1] != '\n';
  }
  return 0;
}

/* past a block comment that starts at `i`, counting lines; 0 when it is not closed */
static size_t skip_block(const char *text, size_t i, int *line) {
  const char *end = strstr(text + i + 2, "*/");
  if (end == NULL) {
    return 0;
  }
  for (const char *c = text + i; c < end; c++) {
    *line += *c == '\n';
  }
  return (size_t)(end - text) + 2;
}

/* past a comment or string that starts at `i`; `i` itself if there is none, 0 if it has no end */
static size_t skip_quiet(const char *text, size_t i, int *line) {
  if (text[i] == '#' || (text[i] == '/' && text[i + 1] == '/')) {
    return end_of_line(text, i);
  }
  if (text[i] == '/' && text[i + 1] == '*') {
    return skip_block(text, i, line);
  }
  return text[i] == '"' ? skip_quoted(text, i) : i;
}

/* the include line at `i`: keep its path, blank it */
static enum bw_status take_include(struct bw_config_file *file, size_t i, int line, int depth,
                                   struct bw_diag *diag) {
  char *text = file->text;
  const size_t end = end_of_line(text, i);
  const size_t open = i + strcspn(text + i, "\"\n");
  const size_t close = open < end ? open + 1 + strcspn(text + open + 1, "\"\n") : end;
  enum bw_status status = BW_OK;
  if (close >= end || close == open + 1) {
    status = bw_fail_at(diag, BW_E_INPUT, file->path, line,
                        "include without a path; write @include \"path\" on a line of its own");
  } else if (depth > 0) {
    status = bw_fail_at(diag, BW_E_INPUT, file->path, line,
                        "include inside a group; move it to the top of the file");
  } else if (file->include_count == BW_CONFIG_INCLUDES_MAX) {
    status = bw_fail_at(diag, BW_E_INPUT, file->path, line, "more than %d includes; merge some",
                        (int)BW_CONFIG_INCLUDES_MAX);
  } else {
    struct bw_config_include *include = &file->include[file->include_count];
    text[close] = '\0';
    if (bw_path_beside(file->path, text + open + 1, include->path)) {
      include->line = line;
      file->include_count++;
    } else {
      status = bw_fail_at(diag, BW_E_INPUT, file->path, line,
                          "path of the include is too long; give at most %d bytes",
                          (int)BW_PATH_MAX - 1);
    }
  }
  memset(text + i, ' ', end - i);
  return status;
}

static enum bw_status take_includes(struct bw_config_file *file, struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  int line = 1;
  int depth = 0;
  bool is_start = true;
  for (size_t i = 0; i < file->length;) {
    const char c = file->text[i];
    const int here = line;
    const size_t next = skip_quiet(file->text, i, &line);
    if (next == 0 && (i > 0 || c == '"' || c == '/')) {
      return bw_fail_at(diag, BW_E_INPUT, file->path, here, "%s; close it",
                        c == '"' ? "a quote is left open on this line" : "comment without end");
    }
    if (next != i) {
      i = next;
      is_start = false;
      continue;
    }
    if (is_start && strncmp(file->text + i, "@include", 8) == 0) {
      const enum bw_status taken = take_include(file, i, line, depth, diag);
      status = taken != BW_OK ? taken : status;
      continue;
    }
    depth += c == '{' || c == '(' || c == '[';
    depth -= c == '}' || c == ')' || c == ']';
    line += c == '\n';
    is_start = c == '\n' || (is_start && isspace((unsigned char)c));
    i++;
  }
  return status;
}

enum bw_status bw_config_file_read(const char *path, const char *from_file, int from_line,
                                   struct bw_config_file *out, struct bw_diag *diag) {
  *out = (struct bw_config_file){0};
  if (!bw_path_beside(NULL, path, out->path)) {
    return refuse(path, from_file, from_line, "is too long a path; shorten it", diag);
  }
  BW_TRY(open_text(path, from_file, from_line, out, diag));
  bool is_blank = true;
  BW_TRY(clean_text(out, &is_blank, diag));
  if (is_blank) {
    return refuse(path, from_file, from_line, "is empty; see cases/ for one to start from", diag);
  }
  return take_includes(out, diag);
}

void bw_config_file_free(struct bw_config_file *file) {
  bw_free(file->text);
  file->text = NULL;
}

static const char *line_text(const struct bw_config_file *file, int line) {
  const char *at = file->text;
  for (int i = 1; i < line && at != NULL; i++) {
    at = strchr(at, '\n');
    at = at == NULL ? NULL : at + 1;
  }
  return at == NULL ? "" : at;
}

static bool is_word(char c) {
  return isalnum((unsigned char)c) || c == '_';
}

/* nan or inf as a value outside quotes on the line */
static bool find_non_number(const char *text, char word[WORD_MAX]) {
  bool is_quoted = false;
  for (size_t i = 0; text[i] != '\0' && text[i] != '\n';) {
    size_t n = 0;
    while (is_word(text[i + n])) {
      n++;
    }
    if (n == 0) {
      is_quoted = is_quoted != (text[i] == '"');
      i++;
      continue;
    }
    if (!is_quoted && n < WORD_MAX) {
      memcpy(word, text + i, n);
      word[n] = '\0';
      if (strcasecmp(word, "nan") == 0 || strcasecmp(word, "inf") == 0 ||
          strcasecmp(word, "infinity") == 0) {
        return true;
      }
    }
    i += n;
  }
  return false;
}

/* length of the key at `text`: a name before = or :, 0 if there is none */
static size_t key_length(const char *text) {
  size_t n = 0;
  while (is_word(text[n]) || text[n] == '-' || text[n] == '*') {
    n++;
  }
  const char next = text[n + strspn(text + n, " \t")];
  return next == '=' || next == ':' ? n : 0;
}

/* the key that stands twice on the line, or else its first */
static size_t find_double(const char *text, size_t length, const char **key) {
  size_t first = 0;
  for (size_t i = 0; i < length; i++) {
    const size_t n = i > 0 && is_word(text[i - 1]) ? 0 : key_length(text + i);
    if (n == 0) {
      continue;
    }
    if (first == 0) {
      first = n;
      *key = text + i;
    }
    for (size_t j = i + n; j + n < length; j++) {
      if (!is_word(text[j - 1]) && key_length(text + j) == n &&
          strncmp(text + i, text + j, n) == 0) {
        *key = text + i;
        return n;
      }
    }
  }
  return first;
}

enum bw_status bw_config_file_parse(const struct bw_config_file *file, config_t *config,
                                    struct bw_diag *diag) {
  if (config_read_string(config, file->text) == CONFIG_TRUE) {
    return BW_OK;
  }
  const int line = config_error_line(config);
  const char *what = config_error_text(config);
  const char *text = line_text(file, line);
  text += strspn(text, " \t");
  size_t length = strcspn(text, "\n");
  while (length > 0 && isspace((unsigned char)text[length - 1])) {
    length--;
  }
  char word[WORD_MAX];
  if (what != NULL && strstr(what, "duplicate") != NULL) {
    const char *key = text;
    const size_t n = find_double(text, length, &key);
    return bw_fail_at(diag, BW_E_INPUT, file->path, line,
                      "duplicate key '%.*s'; keep one, or merge the two groups into one", (int)n,
                      key);
  }
  if (find_non_number(text, word)) {
    return bw_fail_at(diag, BW_E_INPUT, file->path, line,
                      "'%s' is no finite number; give a number with all its digits", word);
  }
  const char *quote = length > 0 ? "'" : "";
  return bw_fail_at(diag, BW_E_INPUT, file->path, line,
                    "%s near %s%.*s%s; write key = value; and close every quote and bracket",
                    what == NULL ? "syntax error" : what, quote,
                    length == 0 ? 15 : (length < 80 ? (int)length : 80),
                    length == 0 ? "the end of file" : text, quote);
}
