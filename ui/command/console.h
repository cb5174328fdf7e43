// What every verb shares: where results go, what is said meanwhile, and how failures end the
// program.
#pragma once

#include <filesystem>
#include <optional>
#include <stop_token>
#include <string>
#include <string_view>
#include <vector>

#include "engine/recording/audio.h"
#include "engine/recording/recording.h"
#include "engine/result.h"
#include "engine/work.h"

namespace bentline::command {

// The program's exit codes, the same for every verb.
inline constexpr int exit_done = 0;
inline constexpr int exit_could_not = 1;
inline constexpr int exit_wrong_usage = 2;

// Options that every verb takes.
struct Common {
    std::optional<std::filesystem::path> out;  // where the result goes; standard output without it
    bool quiet = false;                        // nothing on standard error but a failure
};

// Standard error: progress (a bar only on a terminal), remarks, failures. Interrupting the program
// (Ctrl-C) stops the work through its token, so that nothing is left half-written.
class Console {
  public:
    explicit Console(bool quiet);
    ~Console();
    Console(const Console&) = delete;
    Console& operator=(const Console&) = delete;

    // Work whose progress is drawn under `title`.
    Work work(std::string title);
    // One remark, unless quiet.
    void say(std::string_view sentence);
    // The failure on one line; returns the exit code.
    int fail(const Failure& failure);

  private:
    void clear_bar();

    bool quiet_;
    bool terminal_;
    bool bar_drawn_ = false;
    int last_percent_ = -1;
    std::stop_source stop_;
};

// Writes a text result whole or not at all; to standard output where `out` is empty.
Result<Done> write_result(const std::optional<std::filesystem::path>& out, std::string_view text);

// Fails with cannot_write where the result would be written over what it is made from. For the
// beginning of a verb, before its work.
Result<Done> check_out(const std::optional<std::filesystem::path>& out,
                       const std::vector<std::filesystem::path>& sources);

// The whole of a text file. Fails with not_found or unreadable.
Result<std::string> read_text(const std::filesystem::path& path);

// The span that --from and --to name, in a recording. Seconds from its start; without them, all of
// it.
Result<FramesRange> span_of(const RecordingInfo& info, const std::optional<double>& from,
                            const std::optional<double>& to);

// Opens a recording and reads the span, saying what the opening had to note.
Result<Audio> read_span(const std::filesystem::path& path, const std::optional<double>& from,
                        const std::optional<double>& to, Console& console);

// A number for a text result: `places` decimals, decimal point whatever the locale.
std::string fixed(double value, int places);
// A number for JSON, rounded to `places` decimals so that files stay readable.
double rounded(double value, int places);

}  // namespace bentline::command
