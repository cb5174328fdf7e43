// The triad and the seventh choose the kind; ninths and above raise it; the rest are degrees.
#include "engine/export/musicxml_chord.h"

#include <algorithm>
#include <cstring>
#include <map>

#include "engine/export/xml_text.h"

namespace bentline {
namespace {

// A chord's tones as kinds see them; -1: not there.
struct Tones {
    int third = -1, fifth = -1, sixth = -1, seventh = -1, ninth = -1, eleventh = -1,
        thirteenth = -1;
    std::vector<HarmonyDegree> more;  // second ninths and the like of an altered chord
};

int alter_of(const ChordTone& tone) {
    switch (tone.degree) {
        case 5:
            return tone.semitones - 7;
        case 7:
            return tone.semitones - 10;
        case 9:
            return tone.semitones - 2;
        case 11:
            return tone.semitones - 5;
        default:
            return tone.semitones - 9;  // 6 and 13
    }
}

Tones sort_out(const Chord& chord) {
    Tones t;
    for (const ChordTone& tone : chord.tones) {
        int* const place = tone.degree == 3    ? &t.third
                           : tone.degree == 5  ? &t.fifth
                           : tone.degree == 6  ? &t.sixth
                           : tone.degree == 7  ? &t.seventh
                           : tone.degree == 9  ? &t.ninth
                           : tone.degree == 11 ? &t.eleventh
                           : tone.degree == 13 ? &t.thirteenth
                                               : nullptr;
        if (place == nullptr) continue;
        if (*place < 0)
            *place = tone.semitones;
        else
            t.more.push_back({tone.degree, alter_of(tone), "add"});
    }
    return t;
}

// "dominant", "major", "minor": how kinds of four tones and more begin; empty where they do not.
std::string family(const Tones& t) {
    if (t.third == 4 && t.seventh == 10) return "dominant";
    if (t.third == 4 && t.seventh == 11) return "major";
    if (t.third == 3 && t.seventh == 10) return "minor";
    return "";
}

// How a kind is written behind the root when its degrees are written behind it.
std::string text_of(const std::string& kind) {
    static const std::map<std::string, std::string> texts = {{"major", ""},
                                                             {"minor", "m"},
                                                             {"augmented", "aug"},
                                                             {"diminished", "dim"},
                                                             {"dominant", "7"},
                                                             {"major-seventh", "maj7"},
                                                             {"minor-seventh", "m7"},
                                                             {"diminished-seventh", "dim7"},
                                                             {"augmented-seventh", "aug7"},
                                                             {"half-diminished", "m7b5"},
                                                             {"major-minor", "m(maj7)"},
                                                             {"major-sixth", "6"},
                                                             {"minor-sixth", "m6"},
                                                             {"dominant-ninth", "9"},
                                                             {"major-ninth", "maj9"},
                                                             {"minor-ninth", "m9"},
                                                             {"dominant-11th", "11"},
                                                             {"major-11th", "maj11"},
                                                             {"minor-11th", "m11"},
                                                             {"dominant-13th", "13"},
                                                             {"major-13th", "maj13"},
                                                             {"minor-13th", "m13"},
                                                             {"suspended-second", "sus2"},
                                                             {"suspended-fourth", "sus4"},
                                                             {"power", "5"}};
    return texts.at(kind);
}

}  // namespace

HarmonyKind harmony_kind(const Chord& chord) {
    Tones t = sort_out(chord);
    HarmonyKind made;
    int fifth = 7;        // what the kind itself says
    bool seventh = true;  // whether it says the seventh, the sixth …
    bool sixth = true;
    int highest = 0;  // natural tones up to here are in it
    const bool plain_fifth = t.fifth == 7 || t.fifth < 0;
    const std::string name = family(t);
    if (t.third < 0) {
        seventh = sixth = false;
        if (t.eleventh == 5) {
            made.kind = "suspended-fourth";
            t.eleventh = -1;
        } else if (t.ninth == 2) {
            made.kind = "suspended-second";
            t.ninth = -1;
        } else {
            made.kind = "power";
        }
    } else if (t.third == 3 && t.fifth == 6 && (t.seventh == 10 || t.seventh == 9)) {
        made.kind = t.seventh == 10 ? "half-diminished" : "diminished-seventh";
        fifth = 6;
    } else if (t.third == 4 && t.fifth == 8 && t.seventh == 10 && t.ninth < 0) {
        made.kind = "augmented-seventh";
        fifth = 8;
    } else if (!name.empty()) {
        if (plain_fifth && t.ninth == 2 && t.thirteenth == 9)
            highest = 13;
        else if (plain_fifth && t.ninth == 2 && t.eleventh == 5)
            highest = 11;
        else if (plain_fifth && t.ninth == 2)
            highest = 9;
        made.kind = highest == 9         ? name + "-ninth"
                    : highest > 9        ? name + "-" + std::to_string(highest) + "th"
                    : name == "dominant" ? name
                                         : name + "-seventh";
    } else if (t.third == 3 && t.seventh == 11 && plain_fifth) {
        made.kind = "major-minor";
    } else if (t.sixth == 9 && t.seventh < 0 && plain_fifth) {
        made.kind = t.third == 3 ? "minor-sixth" : "major-sixth";
    } else {
        seventh = sixth = false;
        fifth = t.fifth == 6 && t.third == 3 ? 6 : t.fifth == 8 && t.third == 4 ? 8 : 7;
        made.kind = fifth == 6     ? "diminished"
                    : fifth == 8   ? "augmented"
                    : t.third == 3 ? "minor"
                                   : "major";
    }
    if (t.fifth >= 0 && t.fifth != fifth)
        made.degrees.push_back({5, t.fifth - 7, "alter"});
    else if (t.fifth < 0 && t.third >= 0)
        made.degrees.push_back({5, 0, "subtract"});
    if (!sixth && t.sixth >= 0) made.degrees.push_back({6, 0, "add"});
    if (!seventh && t.seventh >= 0) made.degrees.push_back({7, t.seventh - 10, "add"});
    const auto extend = [&](int degree, int semitones, int natural) {
        if (semitones < 0 || (semitones == natural && degree <= highest)) return;
        made.degrees.push_back({degree, semitones - natural, "add"});
    };
    extend(9, t.ninth, 2);
    extend(11, t.eleventh, 5);
    extend(13, t.thirteenth, 9);
    made.degrees.insert(made.degrees.end(), t.more.begin(), t.more.end());
    return made;
}

pugi::xml_node add_harmony(pugi::xml_node measure, const std::string& typed) {
    const auto chord = parse_chord(typed);
    if (!chord || chord->tones.empty()) return {};
    const auto name = [](pugi::xml_node parent, const char* step, const char* alter,
                         const PitchName& pitch) {
        add_text(parent, step, std::string(1, pitch.step));
        if (pitch.alter != 0) add_text(parent, alter, pitch.alter);
    };
    pugi::xml_node harmony = measure.append_child("harmony");
    name(harmony.append_child("root"), "root-step", "root-alter", chord->root);

    HarmonyKind kind = harmony_kind(*chord);
    std::string suffix = typed.substr(1);
    for (const char* sign : {"#", "b", "\u266f", "\u266d"}) {
        if (suffix.rfind(sign, 0) == 0) {
            suffix.erase(0, std::strlen(sign));
            break;
        }
    }
    if (chord->bass) suffix.erase(suffix.rfind('/'));
    // Some readers print the text, some the kind; both print the degrees. So the text is the
    // typed one only where the kind says it all. "alt" means what a player makes of it: no degrees.
    if (suffix.find("alt") != std::string::npos)
        kind.degrees.clear();
    else if (!kind.degrees.empty())
        suffix = text_of(kind.kind);
    with(add_text(harmony, "kind", kind.kind), "text", xml_safe(suffix));
    if (chord->bass) name(harmony.append_child("bass"), "bass-step", "bass-alter", *chord->bass);
    for (const HarmonyDegree& d : kind.degrees) {
        pugi::xml_node degree = harmony.append_child("degree");
        add_text(degree, "degree-value", d.value);
        add_text(degree, "degree-alter", d.alter);
        add_text(degree, "degree-type", d.type);
    }
    return harmony;
}

}  // namespace bentline
