#include "tests/score/score_text.h"

namespace bentline::testing {
namespace {

std::string shape_text(const Event& e) {
    if (e.whole_measure) return "bar";
    return std::to_string(e.shape.denominator) +
           std::string(static_cast<std::size_t>(e.shape.dots), '.');
}

const char* beam_text(Beam beam) {
    switch (beam) {
        case Beam::begin:
            return "[";
        case Beam::on:
            return "=";
        case Beam::end:
            return "]";
        case Beam::forward_hook:
            return ">";
        case Beam::backward_hook:
            return "<";
        default:
            return "";
    }
}

std::string text(const Measure& m, bool full) {
    std::string out;
    for (std::size_t i = 0; i < m.events.size(); ++i) {
        const Event& e = m.events[i];
        if (i > 0) out += " ";
        for (const Tuplet& t : m.tuplets) {
            if (t.first == i)
                out += std::to_string(t.actual) + ":" + std::to_string(t.normal) + "(";
        }
        if (e.head) {
            if (full) {
                for (const GraceNote& g : e.head->graces)
                    out += "{" + to_text(g.pitch) + "}";
            }
            if (e.head->tied_from_before) out += "~";
            if (full) out += to_text(e.head->pitch) + (e.head->show_accidental ? "*" : "") + "/";
        } else {
            out += "r";
        }
        out += shape_text(e);
        if (e.head && e.head->tied_to_next) out += "~";
        if (full && e.head) {
            for (const Beam b : e.head->beams)
                out += beam_text(b);
        }
        for (const Tuplet& t : m.tuplets) {
            if (t.last == i) out += ")";
        }
    }
    return out;
}

std::string fault_in_events(const Measure& m) {
    Ticks at(0);
    for (std::size_t i = 0; i < m.events.size(); ++i) {
        const Event& e = m.events[i];
        if (e.start != at) return "an event does not begin where the one before ends";
        if (e.length <= Ticks(0)) return "an event without length";
        at += e.length;
        Ticks sounding = length_of(e.shape);
        for (const Tuplet& t : m.tuplets) {
            if (t.first <= i && i <= t.last)
                sounding = Ticks(sounding.value() * t.normal / t.actual);
        }
        if (!e.whole_measure && sounding != e.length) return "a shape that sounds another length";
        if (e.whole_measure && m.events.size() != 1) return "a measure rest beside others";
    }
    if (at != m.length) return "the measure does not add up";
    for (const Tuplet& t : m.tuplets) {
        Ticks sum(0);
        for (std::size_t i = t.first; i <= t.last; ++i)
            sum += m.events[i].length;
        if ((sum.value() * t.actual) % t.normal != 0 || sum.value() % 60 != 0)
            return "a tuplet that is not full";
    }
    return "";
}

std::string fault_in_beams(const Measure& m) {
    for (std::size_t level = 0; level < 5; ++level) {
        bool open = false;
        for (const Event& e : m.events) {
            const Beam b =
                e.head && level < e.head->beams.size() ? e.head->beams[level] : Beam::none;
            if (b == Beam::begin && open) return "a beam that begins twice";
            if ((b == Beam::on || b == Beam::end) && !open) return "a beam that never began";
            if (b != Beam::on && b != Beam::begin && b != Beam::end && open)
                return "a beam with a gap";
            if (b == Beam::begin) open = true;
            if (b == Beam::end) open = false;
            if (b != Beam::none && e.shape.denominator < (8 << level))
                return "a beam on a note without a flag";
        }
        if (open) return "a beam that never ends";
    }
    return "";
}

}  // namespace

std::string rhythm_text(const Measure& measure) {
    return text(measure, false);
}
std::string full_text(const Measure& measure) {
    return text(measure, true);
}

std::string fault_of(const Score& score) {
    const Head* before = nullptr;
    for (const Measure& m : score.measures) {
        const std::string where = "bar " + std::to_string(m.number) + ": ";
        if (const auto fault = fault_in_events(m); !fault.empty())
            return where + fault + ": " + rhythm_text(m);
        if (const auto fault = fault_in_beams(m); !fault.empty())
            return where + fault + ": " + full_text(m);
        for (const Event& e : m.events) {
            const Head* head = e.head ? &*e.head : nullptr;
            if (before && before->tied_to_next &&
                (!head || !head->tied_from_before || head->pitch != before->pitch ||
                 head->note != before->note)) {
                return where + "a tie that leads nowhere";
            }
            if (head && head->tied_from_before && (!before || !before->tied_to_next)) {
                return where + "a tie from nowhere";
            }
            before = head;
        }
    }
    return before && before->tied_to_next ? "a tie past the end" : "";
}

}  // namespace bentline::testing
