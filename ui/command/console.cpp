// Progress, remarks, failures and output for every verb.
#include "ui/command/console.h"

#include <array>
#include <charconv>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <fstream>
#include <sstream>

#include <unistd.h>

#include "engine/one_line.h"
#include "engine/recording/atomic_file.h"

namespace bentline::command {

namespace {

volatile std::sig_atomic_t interrupted = 0;
extern "C" void note_interrupt(int) {
    interrupted = 1;
}

void put(std::FILE* stream, std::string_view text) {
    std::fwrite(text.data(), 1, text.size(), stream);
}

}  // namespace

Console::Console(bool quiet) : quiet_(quiet), terminal_(isatty(STDERR_FILENO) == 1) {
    std::signal(SIGINT, note_interrupt);
}
Console::~Console() {
    clear_bar();
}

Work Console::work(std::string title) {
    last_percent_ = -1;
    auto progress = [this, title = std::move(title)](double share) {
        if (interrupted != 0) stop_.request_stop();
        if (quiet_ || !terminal_) return;
        const int percent = static_cast<int>(std::floor(100.0 * share));
        if (percent == last_percent_) return;
        last_percent_ = percent;
        constexpr int width = 30;
        const auto filled = static_cast<std::size_t>(percent * width / 100);
        std::string line = "\r" + title + "  [" + std::string(filled, '=') +
                           std::string(width - filled, ' ') + "] " + std::to_string(percent) + " %";
        put(stderr, line);
        bar_drawn_ = true;
    };
    return Work{std::move(progress), stop_.get_token()};
}

void Console::clear_bar() {
    if (bar_drawn_) put(stderr, "\r\x1b[K");
    bar_drawn_ = false;
}

void Console::say(std::string_view sentence) {
    clear_bar();
    if (quiet_) return;
    put(stderr, one_line(sentence) + "\n");
}

int Console::fail(const Failure& failure) {
    clear_bar();
    put(stderr, "bentline: " + one_line(failure.sentence) + "\n");
    return exit_could_not;
}

Result<Done> write_result(const std::optional<std::filesystem::path>& out, std::string_view text) {
    if (out) return write_file(*out, text);
    put(stdout, text);
    if (std::fflush(stdout) != 0 || std::ferror(stdout) != 0) {
        return Failure{FailureKind::cannot_write,
                       "the result could not be written to standard output; use --out FILE",
                       {}};
    }
    return Done{};
}

Result<Done> check_out(const std::optional<std::filesystem::path>& out,
                       const std::vector<std::filesystem::path>& sources) {
    if (!out) return Done{};
    for (const auto& source : sources) {
        if (auto ok = check_apart(*out, source); !ok) return ok;
    }
    return Done{};
}

Result<std::string> read_text(const std::filesystem::path& path) {
    std::error_code error;
    if (!std::filesystem::exists(path, error)) {
        return Failure{FailureKind::not_found,
                       "there is no file " + path.string() + "; check its name",
                       {path.string(), {}, {}}};
    }
    std::ifstream in(path, std::ios::binary);
    std::ostringstream text;
    const bool regular = std::filesystem::is_regular_file(path, error) && in.is_open();
    // To put nothing counts as a failure, and an empty file is none.
    if (regular && in.peek() != std::ifstream::traits_type::eof()) text << in.rdbuf();
    if (!regular || in.bad() || !text) {
        return Failure{
            FailureKind::unreadable,
            "cannot read " + path.string() + "; it should be a text file that you may read",
            {path.string(), {}, {}}};
    }
    return std::move(text).str();
}

Result<FramesRange> span_of(const RecordingInfo& info, const std::optional<double>& from,
                            const std::optional<double>& to) {
    const double length = info.duration().value();
    const double begin = from.value_or(0.0);
    const double end = to.value_or(length);
    const auto refuse = [&](const std::string& what) {
        return Failure{FailureKind::out_of_range,
                       what + " (the recording runs from 0 to " + fixed(length, 3) +
                           " s): choose --from and --to inside it",
                       {info.path.string(), {}, {}}};
    };
    if (!(begin >= 0.0) || begin >= length) {
        return refuse("--from " + fixed(begin, 3) + " lies outside " + info.path.string());
    }
    if (!(end > begin)) return refuse("--to must lie after --from");
    if (end > length + 0.5) {
        return refuse("--to " + fixed(end, 3) + " lies outside " + info.path.string());
    }
    return FramesRange{to_frames(Seconds(begin), info.rate),
                       std::min(to_frames(Seconds(end), info.rate), info.frames)};
}

Result<Audio> read_span(const std::filesystem::path& path, const std::optional<double>& from,
                        const std::optional<double>& to, Console& console) {
    auto recording = Recording::open(path);
    if (!recording) return recording.failure();
    auto span = span_of(recording->info(), from, to);
    if (!span) return span.failure();
    if (!recording->info().note.empty()) console.say(recording->info().note);
    return recording->read(*span, console.work("Reading"));
}

std::string fixed(double value, int places) {
    std::array<char, 64> buffer{};
    if (value == 0.0) value = 0.0;  // no "-0"
    const auto [end, error] = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value,
                                            std::chars_format::fixed, places);
    // Written out, it would fill a page.
    if (error != std::errc{}) {
        const auto shortest = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value);
        return {buffer.data(), shortest.ptr};
    }
    std::string text(buffer.data(), end);
    const bool only_zeros = text.find_first_of("123456789") == std::string::npos;
    if (only_zeros && text.front() == '-') text.erase(0, 1);
    return text;
}

double rounded(double value, int places) {
    const double scale = std::pow(10.0, places);
    const double r = std::round(value * scale) / scale;
    return r == 0.0 ? 0.0 : r;
}

}  // namespace bentline::command
