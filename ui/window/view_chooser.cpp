// The file chooser: a folder's contents, a line to type on, and the last files.
#include <algorithm>

#include "ui/window/overlay.h"

namespace bentline::window {
namespace {

std::string size_words(const Entry& entry) {
    if (entry.kind == EntryKind::folder) return "folder";
    const double mb = static_cast<double>(entry.bytes) / 1e6;
    std::string kind = entry.kind == EntryKind::draft ? "draft" : "recording";
    if (mb < 0.1) return kind;
    return kind + ",  " +
           (mb < 10 ? std::to_string(mb).substr(0, 3) : std::to_string(static_cast<int>(mb))) +
           " MB";
}

void folder_sign(const Kit& k, const Box& b, EntryKind kind) {
    if (kind == EntryKind::folder) {
        k.frame({b.x0, b.y0 + k.pt(3), b.x1, b.y1}, k.c.soft, 1.2F);
        k.line(b.x0, b.y0 + k.pt(1), b.x0 + b.w() / 2, b.y0 + k.pt(1), k.c.soft, 1.2F);
    } else if (kind == EntryKind::draft) {
        k.dashed_frame({b.x0, b.y0 + k.pt(2), b.x1, b.y1 - k.pt(2)}, k.c.ink, 1.2F);
    } else {
        k.wave(b.x0, b.x1, b.mid_y(), b.h() * 0.7F, k.c.ink);
    }
}

// The chosen file, before it is opened.
void draw_preview(const Page& page, const Box& b, const Entry& entry) {
    const Kit& k = page.kit;
    const Preview& preview = page.s.chooser.preview;
    k.line(b.x0 - k.pt(9), b.y0, b.x0 - k.pt(9), b.y1, k.c.rule, 1);
    float y = k.paragraph(k.f.strong, b, k.c.ink, entry.name) + k.pt(6);
    if (!preview.ready) return;
    for (const std::string& line : preview.lines)
        y = k.paragraph(k.f.text, {b.x0, y, b.x1, b.y1}, k.c.soft, line) + k.pt(3);
    if (!preview.overview) return;
    const Box drawing{b.x0, y + k.pt(8), b.x1, y + k.pt(72)};
    k.frame(drawing, k.c.rule);
    const auto wide = static_cast<std::size_t>(drawing.w());
    const OverviewLevel& level =
        preview.overview->level_for({Frames(0), preview.overview->frames}, wide);
    if (level.channels.empty() || level.bins() == 0) return;
    for (std::size_t px = 0; px < wide; ++px) {
        const OverviewBin& bin =
            level.channels[0][std::min(level.bins() - 1, px * level.bins() / wide)];
        const float x = drawing.x0 + static_cast<float>(px);
        const float up = std::clamp(bin.highest, 0.0F, 1.0F) * drawing.h() / 2;
        const float down = std::clamp(-bin.lowest, 0.0F, 1.0F) * drawing.h() / 2;
        k.fill({x, drawing.mid_y() - up, x + 1, drawing.mid_y() + down}, k.c.ink);
    }
}

Intent intent_for(const Page& page, const std::filesystem::path& file) {
    switch (page.s.chooser.purpose) {
        case Purpose::save:
            return intents::SaveAs{file.string()};
        case Purpose::midi:
        case Purpose::csv:
        case Purpose::musicxml:
        case Purpose::sheet:
        case Purpose::tab:
        case Purpose::clips:
        case Purpose::lesson:
            return intents::HandOut{file.string(), false, false};
        case Purpose::open:
            break;
    }
    return intents::Open{file.string()};
}

const char* title_of(Purpose purpose) {
    switch (purpose) {
        case Purpose::save:
            return "Save the draft";
        case Purpose::midi:
            return "Write a MIDI file of the inked notes";
        case Purpose::csv:
            return "Write the measurements as a table";
        case Purpose::musicxml:
            return "Write the score as MusicXML";
        case Purpose::tab:
            return "Write the tablature as text";
        case Purpose::clips:
            return "Write practice clips into a folder";
        case Purpose::lesson:
            return "Write the lesson sheet";
        case Purpose::sheet:
            return "Print the sheet into a PDF or SVG file";
        case Purpose::open:
            break;
    }
    return "Open a recording or a draft";
}

}  // namespace

void draw_chooser(const Page& page) {
    const Kit& k = page.kit;
    const Chooser& c = page.s.chooser;
    Scratch& scratch = page.scratch;
    const Box b = overlay_sheet(page, 820, 600, title_of(c.purpose));
    const bool begins = scratch.overlay_shown != static_cast<int>(Overlay::chooser);
    if (begins) {
        scratch.typed.fill('\0');
        c.name.copy(scratch.typed.data(), scratch.typed.size() - 1);
        scratch.row = 0;
    }
    const Box up{b.x0, b.y0, b.x0 + k.pt(120), b.y0 + k.pt(28)};
    if (k.word("folder-up", up, "Up", "Alt ↑") || pressed(page, "alt+up")) {
        page.ask(intents::LookIn{c.folder.parent_path().string()});
        scratch.row = 0;
    }
    k.text_in(k.f.text, {up.x1 + k.pt(12), up.y0, b.x1, up.y1}, Align::left, k.c.soft,
              c.folder.string());

    const bool tells = c.purpose == Purpose::open;
    const Box list{b.x0, up.y1 + k.pt(6), tells ? b.x1 - k.pt(276) : b.x1, b.y1 - k.pt(66)};
    const std::string typed = scratch.typed.data();
    const std::vector<std::size_t> found = matching(c, typed);
    const int count = static_cast<int>(found.size());
    if (pressed(page, "up")) --scratch.row;
    if (pressed(page, "down")) ++scratch.row;
    scratch.row = std::clamp(scratch.row, 0, std::max(0, count - 1));
    if (!c.trouble.empty()) {
        k.paragraph(k.f.text, list, k.c.here, c.trouble + ".");
    } else if (count == 0) {
        k.text(k.f.text, list.x0, list.y0 + k.pt(6), k.c.soft,
               tells || c.purpose == Purpose::clips
                   ? "Nothing here that fits. Go up a folder, or type another name."
                   : "No other file of this kind lies here yet.");
    }
    const float h = k.pt(27);
    const int fit = std::max(1, static_cast<int>(list.h() / h));
    const int first = std::clamp(scratch.row - fit / 2, 0, std::max(0, count - fit));
    const auto enter = [&](const Entry& entry) {
        if (entry.kind == EntryKind::folder) {
            page.ask(intents::LookIn{(c.folder / entry.name).string()});
            scratch.row = 0;
            if (c.purpose == Purpose::open) scratch.typed.fill('\0');
        } else {
            page.ask(intent_for(page, c.folder / entry.name));
        }
    };
    if (tells && count > 0) {
        const Entry& entry = c.entries[found[static_cast<std::size_t>(scratch.row)]];
        if (entry.kind != EntryKind::folder) {
            const std::filesystem::path file = c.folder / entry.name;
            if (c.preview.file != file) page.ask(intents::LookAtFile{file.string()});
            draw_preview(page, {list.x1 + k.pt(18), list.y0, b.x1, list.y1}, entry);
        }
    }
    for (int i = first; i < count && i < first + fit; ++i) {
        const Entry& entry = c.entries[found[static_cast<std::size_t>(i)]];
        const float y = list.y0 + static_cast<float>(i - first) * h;
        const Box line{list.x0, y, list.x1, y + h};
        const std::string id = "entry-" + std::to_string(i);
        const Kit::Touch touch = k.area(id.c_str(), line);
        if (touch.hovered || i == scratch.row) k.fill(line, k.c.shade);
        if (i == scratch.row) k.fill({line.x0, line.y0, line.x0 + k.pt(3), line.y1}, k.c.span);
        folder_sign(k, {line.x0 + k.pt(12), y + k.pt(7), line.x0 + k.pt(28), y + k.pt(20)},
                    entry.kind);
        k.text_in(k.f.text, {line.x0 + k.pt(40), y, line.x1 - k.pt(170), y + h}, Align::left,
                  k.c.ink, entry.name);
        k.text_in(k.f.small, {line.x1 - k.pt(160), y, line.x1 - k.pt(8), y + h}, Align::right,
                  k.c.soft, size_words(entry));
        if (touch.clicked) {
            scratch.row = i;
            if (c.purpose == Purpose::open || entry.kind == EntryKind::folder) {
                enter(entry);
            } else {
                scratch.typed.fill('\0');
                entry.name.copy(scratch.typed.data(), scratch.typed.size() - 1);
            }
        }
    }
    const Box field{b.x0 + k.pt(76), b.y1 - k.pt(54), b.x1 - k.pt(140), b.y1 - k.pt(24)};
    k.text_in(k.f.text, {b.x0, field.y0, field.x0 - k.pt(8), field.y1}, Align::left, k.c.ink,
              c.purpose == Purpose::open ? "Find" : "Name");
    const bool entered = text_field(page, "##file", field, scratch.typed.data(),
                                    scratch.typed.size(), begins || !ImGui::IsAnyItemActive());
    const bool go = k.word("take-it", {field.x1 + k.pt(10), field.y0, b.x1, field.y1},
                           c.purpose == Purpose::open ? "Open" : "Write", "Enter", true);
    const bool asked = !c.asked_about.empty() && meant_file(c, typed) == c.asked_about;
    k.text_in(k.f.small, {b.x0, b.y1 - k.pt(18), b.x1, b.y1 + k.pt(2)}, Align::left,
              asked ? k.c.here : k.c.soft,
              asked ? "This is another draft. Enter once more replaces it; or type another name."
              : c.purpose == Purpose::open
                  ? "Type a part of the name, or a whole path; arrows choose, Enter opens."
                  : "A file of that name is replaced only when the new one is whole.");
    if (!entered && !go) return;
    const bool path_typed = typed.find('/') != std::string::npos;
    if (c.purpose == Purpose::open && !path_typed && count > 0) {
        enter(c.entries[found[static_cast<std::size_t>(scratch.row)]]);
    } else if (!typed.empty()) {
        page.ask(intent_for(page, meant_file(c, typed)));
    }
}

}  // namespace bentline::window
