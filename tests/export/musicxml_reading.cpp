// pugixml, and the arithmetic of the standard.
#include "tests/export/musicxml_reading.h"

#include <algorithm>
#include <map>
#include <set>
#include <stdexcept>

#include <pugixml.hpp>

namespace bentline::testing {
namespace {

int key_of(const pugi::xml_node& parent, const char* step, const char* alter, const char* octave) {
    const std::string steps = "C D EF G A B";
    const auto at = steps.find(parent.child_value(step)[0]);
    return 12 * (parent.child(octave).text().as_int() + 1) + static_cast<int>(at) +
           parent.child(alter).text().as_int();
}

pugi::xml_node load(pugi::xml_document& document, const std::string& text) {
    const auto result = document.load_string(text.c_str());
    if (!result) throw std::runtime_error(result.description());
    const pugi::xml_node root = document.child("score-partwise");
    if (!root) throw std::runtime_error("no score-partwise");
    return root;
}

}  // namespace

std::vector<int> XmlPiece::keys(int staff) const {
    std::vector<int> found;
    for (const XmlNote& n : notes) {
        if (n.staff == staff && !n.rest && !n.tied_from_before) found.push_back(n.key);
    }
    return found;
}

int XmlPiece::heads(int staff) const {
    return static_cast<int>(std::count_if(
        notes.begin(), notes.end(), [&](const XmlNote& n) { return n.staff == staff && !n.rest; }));
}

XmlPiece read_musicxml(const std::string& text) {
    pugi::xml_document document;
    const pugi::xml_node part = load(document, text).child("part");
    XmlPiece piece;
    const pugi::xml_node details = part.child("measure").child("attributes").child("staff-details");
    const int capo = details.child("capo").text().as_int();
    for (const auto& tuning : details.children("staff-tuning")) {
        // Lines come lowest string first.
        piece.open.insert(piece.open.begin(),
                          capo + key_of(tuning, "tuning-step", "tuning-alter", "tuning-octave"));
    }
    for (const auto& measure : part.children("measure")) {
        for (const auto& note : measure.children("note")) {
            XmlNote n;
            n.measure = piece.measures;
            n.staff = note.child("staff").text().as_int();
            n.grace = static_cast<bool>(note.child("grace"));
            n.rest = static_cast<bool>(note.child("rest"));
            n.duration = note.child("duration").text().as_llong();
            for (const auto& tie : note.children("tie"))
                n.tied_from_before |= std::string(tie.attribute("type").value()) == "stop";
            if (!n.rest) n.key = key_of(note.child("pitch"), "step", "alter", "octave");
            const pugi::xml_node technical = note.child("notations").child("technical");
            if (technical.child("string")) n.string = technical.child("string").text().as_int();
            if (technical.child("fret")) n.fret = technical.child("fret").text().as_int();
            piece.notes.push_back(n);
        }
        ++piece.measures;
    }
    return piece;
}

std::string fault_of_musicxml(const std::string& text) {
    pugi::xml_document document;
    const pugi::xml_node part = load(document, text).child("part");
    std::int64_t divisions = 0;
    std::int64_t full = 0;
    std::map<std::string, int> open;  // slides, ties, tuplets, wavy lines and wedges: how many
    for (const auto& measure : part.children("measure")) {
        const std::string where = std::string("measure ") + measure.attribute("number").value();
        const pugi::xml_node attributes = measure.child("attributes");
        if (attributes.child("divisions"))
            divisions = attributes.child("divisions").text().as_llong();
        if (const pugi::xml_node time = attributes.child("time"))
            full = 4 * divisions * time.child("beats").text().as_llong() /
                   time.child("beat-type").text().as_llong();
        std::map<int, std::int64_t> voices;
        std::int64_t at = 0;
        for (const auto& child : measure.children()) {
            const std::string name = child.name();
            if (name == "backup") at -= child.child("duration").text().as_llong();
            if (name == "direction") {
                const auto wedge = child.child("direction-type").child("wedge");
                const std::string type = wedge.attribute("type").value();
                if (wedge)
                    open[std::string("wedge ") + wedge.attribute("number").value()] +=
                        type == "stop" ? -1 : 1;
            }
            if (name != "note") continue;
            const std::string staff = child.child_value("staff");
            const std::int64_t duration = child.child("duration").text().as_llong();
            if (!child.child("grace") && duration <= 0) return where + ": a note lasts nothing";
            voices[child.child("voice").text().as_int()] += duration;
            at += duration;
            const auto count = [&](const char* element, const pugi::xml_node& in) {
                for (const auto& e : in.children(element)) {
                    const std::string type = e.attribute("type").value();
                    int& n = open[staff + " " + element + " " + e.attribute("number").value()];
                    n += type == "start" ? 1 : -1;
                    if (n < 0 && type == "stop" && std::string(element) != "tied")
                        throw std::runtime_error(where + ": " + element +
                                                 " stops before it starts");
                }
            };
            const pugi::xml_node notations = child.child("notations");
            for (const char* element : {"slide", "tuplet", "tied"})
                count(element, notations);
            count("wavy-line", notations.child("ornaments"));
        }
        if (at < 0 || voices.size() != 2) return where + ": not two voices";
        const bool may_be_short = std::string(measure.attribute("implicit").value()) == "yes";
        for (const auto& [voice, sum] : voices) {
            if (sum != voices.begin()->second || sum > full || (sum < full && !may_be_short)) {
                return where + ": voice " + std::to_string(voice) + " lasts " +
                       std::to_string(sum) + " of " + std::to_string(full);
            }
        }
        if (at != voices.begin()->second) return where + ": the staves do not end together";
    }
    for (const auto& [name, count] : open) {
        if (count != 0) return "staff " + name + " is left open";
    }
    const XmlPiece piece = read_musicxml(text);
    for (const XmlNote& n : piece.notes) {
        if (n.staff != 2 || n.rest) continue;
        if (!n.string || !n.fret || *n.string < 1 ||
            static_cast<std::size_t>(*n.string) > piece.open.size() || *n.fret < 0 ||
            piece.open[static_cast<std::size_t>(*n.string - 1)] + *n.fret != n.key) {
            return "measure " + std::to_string(n.measure) + ": string and fret do not sound key " +
                   std::to_string(n.key);
        }
    }
    return "";
}

std::vector<int> midi_keys(const std::vector<std::uint8_t>& bytes) {
    std::vector<int> keys;
    std::size_t at = 14;  // behind the header chunk (Standard MIDI Files 1.0)
    const auto number = [&](std::size_t from, int length) {
        std::size_t n = 0;
        for (int i = 0; i < length; ++i)
            n = n << 8U | bytes.at(from + static_cast<std::size_t>(i));
        return n;
    };
    const auto variable = [&] {
        std::size_t n = 0;
        std::uint8_t byte = 0;
        do {
            byte = bytes.at(at++);
            n = n << 7U | (byte & 0x7FU);
        } while ((byte & 0x80U) != 0);
        return n;
    };
    while (at < bytes.size()) {
        const std::size_t end = at + 8 + number(at + 4, 4);
        at += 8;
        std::uint8_t status = 0;
        while (at < end) {
            variable();
            if ((bytes.at(at) & 0x80U) != 0) status = bytes.at(at++);
            if (status == 0xFF) {
                ++at;
                const std::size_t length = variable();
                at += length;
                continue;
            }
            const int kind = status >> 4U;
            if (kind == 9 && bytes.at(at + 1) > 0) keys.push_back(bytes.at(at));
            at += kind == 0xC || kind == 0xD ? 1 : 2;
        }
    }
    return keys;
}

}  // namespace bentline::testing
