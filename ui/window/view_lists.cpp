// The list of keys and the list of what was done.
#include <algorithm>
#include <string_view>
#include <utility>
#include <vector>

#include "ui/window/keymap.h"
#include "ui/window/overlay.h"
#include "ui/window/spelling.h"

namespace bentline::window {

namespace {

struct Group {
    const char* name = "";
    std::vector<const Command*> commands;
};

// Groups in columns of about one height, none torn apart: the longest first, each into the column
// that is shortest so far.
std::vector<std::vector<Group>> in_columns(std::size_t count) {
    std::vector<Group> groups;
    for (const Command& command : commands()) {
        const auto same = std::find_if(groups.begin(), groups.end(), [&](const Group& g) {
            return std::string_view(g.name) == command.group;
        });
        Group& group = same != groups.end() ? *same : groups.emplace_back(Group{command.group, {}});
        group.commands.push_back(&command);
    }
    std::stable_sort(groups.begin(), groups.end(), [](const Group& a, const Group& b) {
        return a.commands.size() > b.commands.size();
    });
    std::vector<std::vector<Group>> columns(count);
    std::vector<std::size_t> lines(count, 0);
    for (Group& group : groups) {
        const auto shortest =
            static_cast<std::size_t>(std::min_element(lines.begin(), lines.end()) - lines.begin());
        lines[shortest] += group.commands.size() + 2;
        columns[shortest].push_back(std::move(group));
    }
    return columns;
}

// In rows of a command: the name of a group, and the gap before it.
constexpr float of_name = 1.15F, before_group = 0.5F;

float most_rows(const std::vector<std::vector<Group>>& columns) {
    float most = 1;
    for (const std::vector<Group>& column : columns) {
        float rows = 0;
        for (const Group& group : column)
            rows += static_cast<float>(group.commands.size()) + of_name +
                    (rows > 0 ? before_group : 0.0F);
        most = std::max(most, rows);
    }
    return most;
}

// The command that the arrows have come to, down a column and across; none while a key is awaited.
const Command* chosen_command(const Page& page, const std::vector<std::vector<Group>>& columns) {
    Scratch& scratch = page.scratch;
    if (scratch.overlay_shown != static_cast<int>(Overlay::keys)) {
        scratch.row = -1;
        scratch.binding.clear();
    }
    if (!scratch.binding.empty()) return find_command(scratch.binding);
    std::vector<std::vector<const Command*>> all;
    for (const std::vector<Group>& column : columns) {
        all.emplace_back();
        for (const Group& group : column)
            all.back().insert(all.back().end(), group.commands.begin(), group.commands.end());
    }
    // Column and line in one number; before the first arrow no line is chosen.
    constexpr int lines = 1000;
    const auto down = [&](int column) {
        return static_cast<int>(all[static_cast<std::size_t>(column)].size());
    };
    int column = std::max(0, scratch.row) / lines;
    int line = scratch.row < 0 ? -1 : scratch.row % lines;
    const bool up = pressed(page, "up"), on = pressed(page, "down");
    const bool left = pressed(page, "left"), right = pressed(page, "right");
    if (!up && !on && !left && !right && line < 0) return nullptr;
    if (on) ++line;
    if (up) --line;
    if (left) --column;
    if (right) ++column;
    column = std::clamp(column, 0, static_cast<int>(all.size()) - 1);
    line = std::clamp(line, 0, down(column) - 1);
    scratch.row = column * lines + line;
    return all[static_cast<std::size_t>(column)][static_cast<std::size_t>(line)];
}

}  // namespace

void draw_keys(const Page& page) {
    const Kit& k = page.kit;
    const Box b = overlay_sheet(page, 1240, 672, "What the keys do");
    k.text_in(k.f.small, {b.x0, b.y1 - k.pt(16), b.x1, b.y1 + k.pt(2)}, Align::left, k.c.soft,
              page.scratch.binding.empty()
                  ? "Press a line, or choose it with the arrows and Enter; "
                    "then press the new key for it. Whatever had that "
                    "key before is left without one, and named."
                  : "Now press the key for it, or Esc to leave it.");
    const std::vector<std::vector<Group>> columns = in_columns(4);
    const Command* chosen = chosen_command(page, columns);
    const float w = b.w() / static_cast<float>(columns.size());
    const float row = std::min(k.pt(20), (b.h() - k.pt(20)) / most_rows(columns));
    for (std::size_t i = 0; i < columns.size(); ++i) {
        const float x = b.x0 + static_cast<float>(i) * w;
        float y = b.y0;
        for (const Group& group : columns[i]) {
            if (y > b.y0) y += row * before_group;
            k.text(k.f.strong, x, y, k.c.span, group.name);
            y += row * of_name;
            for (const Command* command : group.commands) {
                const Box line{x, y, x + w - k.pt(6), y + row};
                const Kit::Touch touch = k.area(command->name, line);
                const bool shown = touch.hovered || page.scratch.binding == command->name;
                if (shown || command == chosen) k.fill(line, k.c.shade);
                if (command == chosen)
                    k.fill({x - k.pt(8), y + k.pt(2), x - k.pt(5), y + row - k.pt(2)}, k.c.span);
                if (touch.clicked) page.scratch.binding = command->name;
                k.text_in(k.f.strong, {line.x0, line.y0, line.x0 + k.pt(92), line.y1}, Align::left,
                          k.c.ink, page.key_of(command->name));
                k.text_in(k.f.text, {line.x0 + k.pt(94), line.y0, line.x1, line.y1}, Align::left,
                          k.c.soft, command->words);
                y += row;
            }
        }
    }
    if (!page.scratch.binding.empty()) {
        for (const std::string& stroke : page.scratch.strokes) {
            if (stroke != "escape") page.ask(intents::BindKey{stroke, page.scratch.binding});
            page.scratch.binding.clear();
            break;
        }
    } else if (chosen != nullptr && pressed(page, "enter")) {
        page.scratch.binding = chosen->name;
    }
}

void draw_history(const Page& page) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const Box b = overlay_sheet(page, 620, 560, "Done so far");
    std::vector<std::string> all = s.done;
    all.insert(all.end(), s.undone.begin(), s.undone.end());
    const int done = static_cast<int>(s.done.size()), count = static_cast<int>(all.size());
    if (page.scratch.overlay_shown != static_cast<int>(Overlay::history)) page.scratch.row = done;
    int& row = page.scratch.row;
    if (pressed(page, "up")) --row;
    if (pressed(page, "down")) ++row;
    row = std::clamp(row, 0, count);
    if (pressed(page, "enter")) page.ask(intents::GoBackTo{row});
    const float h = k.pt(24);
    const int fit = std::max(1, static_cast<int>((b.h() - k.pt(24)) / h));
    const int first = std::clamp(row - fit / 2, 0, std::max(0, count + 1 - fit));
    for (int i = first; i <= count && i < first + fit; ++i) {
        const float y = b.y0 + static_cast<float>(i - first) * h;
        const Box line{b.x0, y, b.x1, y + h};
        const std::string id = "done-" + std::to_string(i);
        const Kit::Touch touch = k.area(id.c_str(), line);
        if (touch.hovered || i == row) k.fill(line, k.c.shade);
        if (touch.clicked) page.ask(intents::GoBackTo{i});
        if (i == done) {
            k.list().AddTriangleFilled(at(line.x0, line.mid_y() - k.pt(5)),
                                       at(line.x0 + k.pt(8), line.mid_y()),
                                       at(line.x0, line.mid_y() + k.pt(5)), k.c.here);
        }
        std::string words = i == 0 ? "as it was opened" : all[static_cast<std::size_t>(i - 1)];
        words = sentence_with_signs(words);
        k.text_in(k.f.text, {line.x0 + k.pt(16), y, line.x1, y + h}, Align::left,
                  i <= done ? k.c.ink : k.c.soft, i > done ? words + "  (undone)" : words);
    }
    k.text_in(k.f.small, {b.x0, b.y1 - k.pt(16), b.x1, b.y1 + k.pt(2)}, Align::left, k.c.soft,
              "Choose a line with the arrows and Enter, or press it: the draft goes back or forth "
              "to there.");
}

}  // namespace bentline::window
