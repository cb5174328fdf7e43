// Children of <note> in the order that the schema wants.
#include "engine/export/musicxml_note.h"

#include <cassert>

#include "engine/export/number_text.h"
#include "engine/export/xml_text.h"
#include "engine/score/spell.h"

namespace bentline {
namespace {

// <notations> is made when the first notation needs it, and so are its groups.
class Notations {
  public:
    explicit Notations(pugi::xml_node note) : note_(note) {}
    pugi::xml_node all() {
        if (!all_) all_ = note_.append_child("notations");
        return all_;
    }
    pugi::xml_node group(const char* name) {
        const pugi::xml_node there = all().child(name);
        return there ? there : all().append_child(name);
    }

  private:
    pugi::xml_node note_;
    pugi::xml_node all_;
};

void add_pitch(pugi::xml_node note, const SpelledPitch& pitch) {
    pugi::xml_node p = note.append_child("pitch");
    add_text(p, "step", std::string(1, pitch.step));
    if (pitch.alter != 0) add_text(p, "alter", pitch.alter);
    add_text(p, "octave", pitch.octave);
}

const char* accidental_name(int alter) {
    switch (alter) {
        case -2:
            return "flat-flat";
        case -1:
            return "flat";
        case 1:
            return "sharp";
        case 2:
            return "double-sharp";
        default:
            return "natural";
    }
}

const char* beam_name(Beam beam) {
    switch (beam) {
        case Beam::begin:
            return "begin";
        case Beam::on:
            return "continue";
        case Beam::end:
            return "end";
        case Beam::forward_hook:
            return "forward hook";
        default:
            return "backward hook";
    }
}

void add_voice(pugi::xml_node note, Staff staff) {
    add_text(note, "voice", staff == Staff::notation ? 1 : 2);
}

void add_shape(pugi::xml_node note, const NoteShape& shape) {
    add_text(note, "type", type_name(shape.denominator));
    for (int i = 0; i < shape.dots; ++i)
        note.append_child("dot");
}

void add_time_modification(pugi::xml_node note, const InTuplet& in, const NoteShape& shape) {
    if (in.tuplet == nullptr) return;
    pugi::xml_node m = note.append_child("time-modification");
    add_text(m, "actual-notes", in.tuplet->actual);
    add_text(m, "normal-notes", in.tuplet->normal);
    if (shape.denominator != in.unit || shape.dots > 0)
        add_text(m, "normal-type", type_name(in.unit));
}

void add_tuplet(Notations& notations, const NoteLook& look) {
    if (!look.tuplet.starts && !look.tuplet.stops) return;
    const bool seen = look.staff == Staff::notation;
    for (const char* end : {"start", "stop"}) {
        if (!(end[2] == 'a' ? look.tuplet.starts : look.tuplet.stops)) continue;
        pugi::xml_node t = notations.all().append_child("tuplet");
        with(t, "type", end);
        with(t, "number", "1");
        if (end[2] != 'a') continue;
        with(t, "bracket", seen && look.tuplet.bracket ? "yes" : "no");
        if (!seen) with(t, "show-number", "none");
    }
}

void add_slides(Notations& notations, const SlideEnds& slides) {
    const auto add = [&](const std::optional<int>& number, const char* type) {
        if (!number) return;
        pugi::xml_node s = notations.all().append_child("slide");
        with(s, "type", type);
        with(s, "number", std::to_string(*number));
        with(s, "line-type", "solid");
    };
    add(slides.stop, "stop");
    add(slides.start, "start");
}

void add_bend(Notations& notations, double semitones, const char* kind) {
    pugi::xml_node b = notations.group("technical").append_child("bend");
    add_text(b, "bend-alter", short_text(semitones, 2));
    if (kind != nullptr) b.append_child(kind);
}

// The signs of a head, one function a sign.
class Signs {
  public:
    Signs(Notations& notations, const NoteLook& look) : notations_(notations), look_(look) {}

    void operator()(const BendSign& bend) {
        // An arrow on the tablature, where the fretted note stands; without a spot there, above.
        const bool here = look_.spot.has_value() == (look_.staff == Staff::tablature);
        if (look_.plain || !here) return;
        if (bend.prebend)
            add_bend(notations_, -bend.semitones, "pre-bend");
        else
            add_bend(notations_, bend.semitones, nullptr);
        if (bend.release) add_bend(notations_, -bend.semitones, "release");
    }
    void operator()(const ScoopSign& scoop) {
        if (!look_.plain && on_notation())
            notations_.group("articulations").append_child(scoop.from_above ? "plop" : "scoop");
    }
    void operator()(const FallSign& fall) {
        if (!look_.plain && on_notation())
            notations_.group("articulations").append_child(fall.upward ? "doit" : "falloff");
    }
    void operator()(const TrillSign& trill) {
        if (look_.plain || !on_notation()) return;
        pugi::xml_node ornaments = notations_.group("ornaments");
        ornaments.append_child("trill-mark");
        if (alter_in_key(trill.with.step, look_.key) != trill.with.alter)
            add_text(ornaments, "accidental-mark", accidental_name(trill.with.alter));
    }
    void operator()(const DotSign&) {
        if (on_notation()) notations_.group("articulations").append_child("staccato");
    }
    void operator()(const AccentSign&) {
        if (on_notation()) notations_.group("articulations").append_child("accent");
    }
    // Their ends are worked out over the whole line.
    void operator()(const SlideInSign&) {}
    void operator()(const SlideToNextSign&) {}
    void operator()(const WavyLineSign&) {}

  private:
    bool on_notation() const { return look_.staff == Staff::notation; }
    Notations& notations_;
    const NoteLook& look_;
};

void add_wavy(Notations& notations, const WavyEnds& wavy) {
    for (const char* end : {"start", "stop"}) {
        if (!(end[2] == 'a' ? wavy.start : wavy.stop)) continue;
        pugi::xml_node w = notations.group("ornaments").append_child("wavy-line");
        with(w, "type", end);
        with(w, "number", "1");
    }
}

void add_spot(Notations& notations, const Spot& spot) {
    pugi::xml_node technical = notations.group("technical");
    add_text(technical, "string", spot.string);
    add_text(technical, "fret", spot.fret);
}

// A rest; hidden on the tablature.
void add_rest(pugi::xml_node measure, const Event& event, const NoteLook& look) {
    pugi::xml_node note = measure.append_child("note");
    if (look.staff == Staff::tablature) with(note, "print-object", "no");
    pugi::xml_node rest = note.append_child("rest");
    if (event.whole_measure) with(rest, "measure", "yes");
    add_text(note, "duration", event.length.value());
    add_voice(note, look.staff);
    if (!event.whole_measure) {
        add_shape(note, event.shape);
        add_time_modification(note, look.tuplet, event.shape);
    }
    add_text(note, "staff", static_cast<int>(look.staff));
    Notations notations(note);
    add_tuplet(notations, look);
}

}  // namespace

void add_note(pugi::xml_node measure, const Event& event, const NoteLook& look) {
    const bool tab = look.staff == Staff::tablature;
    if (!event.head || (tab && !look.spot)) {
        add_rest(measure, event, look);
        return;
    }
    const Head& head = *event.head;
    pugi::xml_node note = measure.append_child("note");
    add_pitch(note, head.pitch);
    add_text(note, "duration", event.length.value());
    if (head.tied_from_before) with(note.append_child("tie"), "type", "stop");
    if (head.tied_to_next) with(note.append_child("tie"), "type", "start");
    add_voice(note, look.staff);
    add_shape(note, event.shape);
    if (!tab && head.show_accidental)
        add_text(note, "accidental", accidental_name(head.pitch.alter));
    add_time_modification(note, look.tuplet, event.shape);
    if (tab) add_text(note, "stem", "none");
    add_text(note, "staff", static_cast<int>(look.staff));
    for (std::size_t level = 0; !tab && level < head.beams.size(); ++level) {
        if (head.beams[level] == Beam::none) continue;
        with(add_text(note, "beam", beam_name(head.beams[level])), "number",
             std::to_string(level + 1));
    }
    Notations notations(note);
    if (head.tied_from_before) with(notations.all().append_child("tied"), "type", "stop");
    if (head.tied_to_next) with(notations.all().append_child("tied"), "type", "start");
    add_tuplet(notations, look);
    if (!look.plain) add_slides(notations, look.slides);
    if (tab) add_spot(notations, *look.spot);
    Signs signs(notations, look);
    for (const Sign& sign : head.signs)
        std::visit(signs, sign);
    if (!look.plain) add_wavy(notations, look.wavy);
}

void add_grace(pugi::xml_node measure, const GraceNote& grace, std::size_t index, std::size_t count,
               const NoteLook& look) {
    const bool tab = look.staff == Staff::tablature;
    if (tab && !look.spot) return;  // a grace note takes no time: nothing to hide
    pugi::xml_node note = measure.append_child("note");
    with(note.append_child("grace"), "slash", count == 1 ? "yes" : "no");
    add_pitch(note, grace.pitch);
    add_voice(note, look.staff);
    add_text(note, "type", type_name(count == 1 ? 8 : 16));
    if (!tab && grace.show_accidental)
        add_text(note, "accidental", accidental_name(grace.pitch.alter));
    if (tab) add_text(note, "stem", "none");
    add_text(note, "staff", static_cast<int>(look.staff));
    if (!tab && count > 1) {
        const char* where = index == 0 ? "begin" : index + 1 == count ? "end" : "continue";
        for (const char* level : {"1", "2"})
            with(add_text(note, "beam", where), "number", level);
    }
    Notations notations(note);
    if (!look.plain) add_slides(notations, look.slides);
    if (tab) add_spot(notations, *look.spot);
}

const char* type_name(int denominator) {
    switch (denominator) {
        case 1:
            return "whole";
        case 2:
            return "half";
        case 4:
            return "quarter";
        case 8:
            return "eighth";
        case 16:
            return "16th";
        case 32:
            return "32nd";
        case 64:
            return "64th";
        default:
            return "128th";
    }
}

}  // namespace bentline
