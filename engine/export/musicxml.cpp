// The document: heading, parts, measures. Notes, marks and chords are written by the other
// musicxml_ files.
#include "engine/export/musicxml.h"

#include <algorithm>

#include "engine/export/musicxml_line.h"
#include "engine/export/musicxml_marks.h"
#include "engine/export/musicxml_note.h"
#include "engine/export/xml_text.h"

namespace bentline {
namespace {

class Document {
  public:
    Document(const Score& score, const DraftFingering& fingering, const MusicXmlSettings& settings)
        : score_(score),
          neck_(fingering.neck),
          settings_(settings),
          line_(score, fingering, settings.plain) {}

    std::string write() {
        pugi::xml_node declaration = document_.append_child(pugi::node_declaration);
        with(declaration, "version", "1.0");
        with(declaration, "encoding", "UTF-8");
        document_.append_child(pugi::node_doctype)
            .set_value(
                "score-partwise PUBLIC \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" "
                "\"http://www.musicxml.org/dtds/partwise.dtd\"");
        root_ = document_.append_child("score-partwise");
        with(root_, "version", "4.0");
        write_heading();
        pugi::xml_node part = root_.append_child("part");
        with(part, "id", "P1");
        for (std::size_t m = 0; m < score_.measures.size(); ++m)
            write_measure(part, m);
        return to_text(document_);
    }

  private:
    void write_heading() {
        if (!score_.title.empty()) {
            add_text(root_.append_child("work"), "work-title", xml_safe(score_.title));
        }
        pugi::xml_node identification = root_.append_child("identification");
        if (!score_.players.empty()) {
            with(add_text(identification, "creator", xml_safe(score_.players)), "type",
                 "performer");
        }
        add_text(identification, "rights", rights_note);
        pugi::xml_node encoding = identification.append_child("encoding");
        add_text(encoding, "software", "Bentline");
        for (const char* element : {"accidental", "beam", "stem"}) {
            pugi::xml_node supports = encoding.append_child("supports");
            with(supports, "element", element);
            with(supports, "type", std::string(element) == "stem" ? "no" : "yes");
        }
        if (!settings_.recording.empty())
            add_text(identification, "source", xml_safe(settings_.recording));
        add_credit("title", score_.title, "center", "top");
        add_credit("arranger", score_.players, "right", "top");
        write_part_list();
    }

    void add_credit(const char* type, const std::string& text, const char* justify,
                    const char* valign) {
        if (text.empty()) return;
        pugi::xml_node credit = root_.append_child("credit");
        with(credit, "page", "1");
        add_text(credit, "credit-type", type);
        pugi::xml_node words = add_text(credit, "credit-words", xml_safe(text));
        with(words, "justify", justify);
        with(words, "valign", valign);
    }

    void write_part_list() {
        pugi::xml_node part = root_.append_child("part-list").append_child("score-part");
        with(part, "id", "P1");
        add_text(part, "part-name", "Guitar");
        add_text(with(part.append_child("score-instrument"), "id", "P1-I1"), "instrument-name",
                 "Guitar");
        pugi::xml_node midi = part.append_child("midi-instrument");
        with(midi, "id", "P1-I1");
        add_text(midi, "midi-channel", 1);
        add_text(midi, "midi-program", 27);  // counted from 1: the jazz guitar of General MIDI
    }

    void write_measure(pugi::xml_node part, std::size_t m) {
        const Measure& measure = score_.measures[m];
        pugi::xml_node node = part.append_child("measure");
        with(node, "number", std::to_string(measure.number));
        if (measure.number < 1) with(node, "implicit", "yes");
        write_attributes(node, m);
        std::vector<Mark> marks = marks_of(score_, m, settings_.plain);
        write_staff(node, m, Staff::notation, &marks);
        add_text(node.append_child("backup"), "duration", measure.length.value());
        write_staff(node, m, Staff::tablature, nullptr);
        write_barline(node, m);
    }

    void write_attributes(pugi::xml_node node, std::size_t m) {
        const Measure& measure = score_.measures[m];
        const bool new_metre = m == 0 || score_.measures[m - 1].metre != measure.metre;
        const bool new_key = m == 0 || key_at(score_, m) != key_at(score_, m - 1);
        if (!new_metre && !new_key) return;
        pugi::xml_node attributes = node.append_child("attributes");
        if (m == 0) add_text(attributes, "divisions", quarter.value());
        if (new_key) write_key(attributes, m);
        if (!new_metre) return;
        pugi::xml_node time = attributes.append_child("time");
        add_text(time, "beats", measure.metre.count);
        add_text(time, "beat-type", measure.metre.unit);
        if (m == 0) write_staves(attributes);
    }

    // Naturals cancel a signature only where the new key has none (common practice).
    void write_key(pugi::xml_node attributes, std::size_t m) {
        const Key now = key_at(score_, m);
        pugi::xml_node key = attributes.append_child("key");
        if (m > 0 && now.fifths == 0) {
            const int before = key_at(score_, m - 1).fifths;
            if (before != 0) add_text(key, "cancel", before);
        }
        add_text(key, "fifths", now.fifths);
        add_text(key, "mode", now.minor ? "minor" : "major");
    }

    void write_staves(pugi::xml_node attributes) {
        add_text(attributes, "staves", 2);
        pugi::xml_node treble = attributes.append_child("clef");
        with(treble, "number", "1");
        add_text(treble, "sign", "G");
        add_text(treble, "line", 2);
        add_text(treble, "clef-octave-change", -1);
        pugi::xml_node tab = attributes.append_child("clef");
        with(tab, "number", "2");
        add_text(tab, "sign", "TAB");
        add_text(tab, "line", (neck_.strings() + 4) / 2);
        pugi::xml_node details = attributes.append_child("staff-details");
        with(details, "number", "2");
        add_text(details, "staff-lines", neck_.strings());
        // Line 1 is the lowest string.
        for (int string = neck_.strings(); string >= 1; --string) {
            const int key = neck_.open[static_cast<std::size_t>(string - 1)].value();
            constexpr std::string_view steps = "CCDEEFFGAABB";
            constexpr int alters[] = {0, 1, 0, -1, 0, 0, 1, 0, -1, 0, -1, 0};
            const auto name = static_cast<std::size_t>(key % 12);
            pugi::xml_node tuning = details.append_child("staff-tuning");
            with(tuning, "line", std::to_string(neck_.strings() + 1 - string));
            add_text(tuning, "tuning-step", std::string(1, steps[name]));
            if (alters[name] != 0) add_text(tuning, "tuning-alter", alters[name]);
            add_text(tuning, "tuning-octave", key / 12 - 1);
        }
        if (neck_.capo > 0) add_text(details, "capo", neck_.capo);
    }

    // marks: what stands over this staff, in order; nullptr: nothing.
    void write_staff(pugi::xml_node node, std::size_t m, Staff staff,
                     const std::vector<Mark>* marks) {
        const Measure& measure = score_.measures[m];
        std::size_t next = 0;
        for (std::size_t e = 0; e < measure.events.size(); ++e) {
            const Event& event = measure.events[e];
            const Ticks end = event.start + event.length;
            for (; marks != nullptr && next < marks->size() && (*marks)[next].at < end; ++next)
                add_mark(node, (*marks)[next], event.start);
            write_event(node, {m, e, -1}, staff, tuplet_of(measure, e));
        }
        for (; marks != nullptr && next < marks->size(); ++next)
            add_mark(node, (*marks)[next], measure.length);
    }

    void write_event(pugi::xml_node node, NotePlace place, Staff staff, const InTuplet& tuplet) {
        const Event& event = score_.measures[place.measure].events[place.event];
        NoteLook look;
        look.staff = staff;
        look.plain = settings_.plain;
        look.key = key_at(score_, place.measure);
        if (event.head) {
            std::vector<int> written;
            for (std::size_t g = 0; g < event.head->graces.size(); ++g) {
                if (line_.written(event.head->graces[g])) written.push_back(static_cast<int>(g));
            }
            for (std::size_t i = 0; i < written.size(); ++i) {
                place.grace = written[i];
                look.spot = line_.spot(place);
                look.slides = line_.slides(staff, place);
                add_grace(node, event.head->graces[static_cast<std::size_t>(written[i])], i,
                          written.size(), look);
            }
        }
        place.grace = -1;
        look.tuplet = tuplet;
        look.spot = line_.spot(place);
        look.slides = line_.slides(staff, place);
        look.wavy = line_.wavy(place);
        add_note(node, event, look);
    }

    static InTuplet tuplet_of(const Measure& measure, std::size_t e) {
        for (const Tuplet& t : measure.tuplets) {
            if (e < t.first || t.last < e) continue;
            InTuplet in{&t, 8, e == t.first, e == t.last, false};
            Ticks whole{0};
            int beams = 0;
            for (std::size_t i = t.first; i <= t.last; ++i) {
                const Event& event = measure.events[i];
                whole += event.length;
                beams += event.head && !event.head->beams.empty() ? 1 : 0;
            }
            in.bracket = beams <= static_cast<int>(t.last - t.first);
            in.unit = static_cast<int>(4 * quarter.value() * t.normal /
                                       std::max<std::int64_t>(whole.value(), 1));
            return in;
        }
        return {};
    }

    void write_barline(pugi::xml_node node, std::size_t m) {
        const bool last = m + 1 == score_.measures.size();
        const bool section_ends = !last && !score_.measures[m + 1].section.empty();
        const bool key_ends = !last && key_at(score_, m).fifths != key_at(score_, m + 1).fifths;
        if (!last && !section_ends && !key_ends) return;
        pugi::xml_node line = node.append_child("barline");
        with(line, "location", "right");
        add_text(line, "bar-style", last ? "light-heavy" : "light-light");
    }

    const Score& score_;
    const Neck& neck_;
    const MusicXmlSettings& settings_;
    ScoreLine line_;
    pugi::xml_document document_;
    pugi::xml_node root_;
};

}  // namespace

std::string musicxml_text(const Score& score, const DraftFingering& fingering,
                          const MusicXmlSettings& settings) {
    return Document(score, fingering, settings).write();
}

}  // namespace bentline
