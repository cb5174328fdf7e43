// Reading of chord charts.
#include "engine/bars/chart.h"

#include <cctype>
#include <optional>

#include "engine/bars/chord.h"

namespace bentline {
namespace {

constexpr std::size_t most_bars = 9999;

std::string_view trimmed(std::string_view text) {
    const auto blank = [](char c) { return c == ' ' || c == '\t' || c == '\r'; };
    while (!text.empty() && blank(text.front()))
        text.remove_prefix(1);
    while (!text.empty() && blank(text.back()))
        text.remove_suffix(1);
    return text;
}

// "A", "A:" or "[A]": the letter.
std::optional<std::string> section_letter(std::string_view line) {
    if (line.size() == 3 && line.front() == '[' && line.back() == ']') line = line.substr(1, 1);
    if (line.size() == 2 && line.back() == ':') line = line.substr(0, 1);
    if (line.size() != 1 || !std::isalpha(static_cast<unsigned char>(line[0]))) return std::nullopt;
    return std::string(1, static_cast<char>(std::toupper(static_cast<unsigned char>(line[0]))));
}

class Reader {
  public:
    Result<Chart> read(std::string_view text) {
        while (!text.empty() && !failure_) {
            ++line_;
            const auto end = text.find('\n');
            read_line(trimmed(text.substr(0, end)));
            text = end == std::string_view::npos ? std::string_view() : text.substr(end + 1);
        }
        if (!failure_ && repeat_from_) fail("A repeat is opened with |: and never closed with :|");
        if (!failure_ && chart_.bars.empty())
            fail("There is no bar in the chart: write bars between | and |");
        if (failure_) return *failure_;
        close_section();
        return std::move(chart_);
    }

  private:
    void fail(const std::string& sentence) {
        failure_ = Failure{
            FailureKind::out_of_range, sentence + " (line " + std::to_string(line_) + ")", {}};
    }

    void read_line(std::string_view line) {
        if (line.empty() || line.front() == '#') return;
        const auto first = line.find('|');
        if (first == std::string_view::npos && (begin_section(line) || failure_)) return;
        if (first == std::string_view::npos) {
            fail("'" + std::string(line) + "' has no bar lines: write | Eb6 C7 | Fm7 Bb7 |");
            return;
        }
        // A section's letter may stand before the first bar line.
        const std::string_view before = trimmed(line.substr(0, first));
        if (!before.empty() && !begin_section(before) && !failure_) {
            fail("'" + std::string(before) +
                 "' stands before the first bar line: only a section's letter may, as in A | C7 |");
        }
        if (!failure_) read_bars(line.substr(first));
    }

    // "A", or "B in Ab".
    bool begin_section(std::string_view text) {
        const auto in = text.find(" in ");
        const auto letter = section_letter(trimmed(text.substr(0, in)));
        if (!letter) return false;
        std::optional<Key> key;
        if (in != std::string_view::npos) {
            const auto read = parse_key(text.substr(in + 4));
            if (!read) {
                fail(read.failure().sentence);
                return false;
            }
            key = *read;
        }
        close_section();
        chart_.form.push_back({*letter, static_cast<int>(chart_.bars.size()) + 1, 0, key});
        return true;
    }

    // From one bar line to the last of the line.
    void read_bars(std::string_view rest) {
        rest = after_empty_bars(rest);
        while (!rest.empty() && !failure_) {
            // The bar line: |, ||, |:, :|, :|:
            bool opens = false;
            while (!rest.empty() &&
                   (rest.front() == '|' || rest.front() == ':' || rest.front() == ' ')) {
                if (rest.front() == ':') opens = true;
                rest.remove_prefix(1);
            }
            if (opens) open_repeat();
            if (rest.empty() || failure_) return;
            const auto end = rest.find('|');
            std::string_view bar = trimmed(rest.substr(0, end));
            const bool closes = !bar.empty() && bar.back() == ':';
            if (closes) bar = trimmed(bar.substr(0, bar.size() - 1));
            add_bar(bar);
            if (closes) close_repeat();
            if (end == std::string_view::npos) return;
            rest = rest.substr(end);
            rest = after_empty_bars(rest);
        }
    }

    // Two bar lines with nothing but space between them: an empty bar. rest begins with a bar line.
    std::string_view after_empty_bars(std::string_view rest) {
        while (!failure_) {
            const auto next = rest.find('|', 1);
            if (next == std::string_view::npos || next == 1 ||
                !trimmed(rest.substr(1, next - 1)).empty())
                break;
            add_bar({});
            rest = rest.substr(next);
        }
        return rest;
    }

    void open_repeat() {
        if (repeat_from_) return fail("A repeat is opened inside another");
        repeat_from_ = chart_.bars.size();
    }

    void close_repeat() {
        if (!repeat_from_) return fail("A repeat is closed with :| and was not opened with |:");
        const std::vector<std::string> again(
            chart_.bars.begin() + static_cast<std::ptrdiff_t>(*repeat_from_), chart_.bars.end());
        chart_.bars.insert(chart_.bars.end(), again.begin(), again.end());
        repeat_from_.reset();
        if (chart_.bars.size() > most_bars)
            fail("The chart has more than 9999 bars: leave out what is not played");
    }

    void add_bar(std::string_view text) {
        if (chart_.bars.size() >= most_bars)
            return fail("The chart has more than 9999 bars: leave out what is not played");
        if (text == "%") {
            if (chart_.bars.empty()) return fail("% has no bar before it to repeat");
            chart_.bars.push_back(chart_.bars.back());
            return;
        }
        std::string symbols;
        while (!text.empty()) {
            const auto end = text.find_first_of(" \t");
            const std::string symbol(text.substr(0, end));
            if (!symbols.empty()) symbols += " ";
            symbols += symbol;
            // A slash alone holds the chord for a beat more.
            if (symbol != "/" && !parse_chord(symbol)) {
                chart_.unknown.push_back({line_, static_cast<int>(chart_.bars.size()) + 1, symbol});
            }
            text = end == std::string_view::npos ? std::string_view() : trimmed(text.substr(end));
        }
        chart_.bars.push_back(std::move(symbols));
    }

    void close_section() {
        if (chart_.form.empty()) return;
        Section& last = chart_.form.back();
        last.bars = static_cast<int>(chart_.bars.size()) + 1 - last.first_bar;
        if (last.bars == 0) chart_.form.pop_back();
    }

    Chart chart_;
    int line_ = 0;
    std::optional<std::size_t> repeat_from_;
    std::optional<Failure> failure_;
};

}  // namespace

Result<Chart> parse_chart(std::string_view text) {
    return Reader().read(text);
}

}  // namespace bentline
