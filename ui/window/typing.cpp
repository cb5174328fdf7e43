// Stand-ins of two letters for what the toolkit cannot hold.
#include "ui/window/typing.h"

#include <algorithm>
#include <optional>
#include <vector>

#include <imgui.h>

namespace bentline::window {
namespace {

constexpr char32_t beyond = 0x10000, first_upper = 0xE000, first_lower = 0xE400, halves = 0x400;

// A letter of three bytes (RFC 3629).
void add_three(std::string& text, char32_t code) {
    text += static_cast<char>(0xE0U | code >> 12U);
    text += static_cast<char>(0x80U | (code >> 6U & 0x3FU));
    text += static_cast<char>(0x80U | (code & 0x3FU));
}

// The bits of the letter of so many bytes that begins there.
char32_t code_at(std::string_view text, std::size_t at, std::size_t bytes) {
    char32_t code = static_cast<unsigned char>(text[at]) & (bytes == 4 ? 0x07U : 0x0FU);
    for (std::size_t i = 1; i < bytes; ++i)
        code = code << 6U | (static_cast<unsigned char>(text[at + i]) & 0x3FU);
    return code;
}

std::size_t bytes_at(std::string_view text, std::size_t at) {
    const auto first = static_cast<unsigned char>(text[at]);
    const std::size_t bytes = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : first >= 0xC0 ? 2 : 1;
    return at + bytes <= text.size() ? bytes : 1;
}

}  // namespace

std::string for_typing(std::string_view text) {
    std::string made;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t bytes = bytes_at(text, at);
        if (bytes == 4) {
            const char32_t bits = code_at(text, at, bytes) - beyond;
            add_three(made, first_upper + (bits >> 10U) % halves);
            add_three(made, first_lower + bits % halves);
        } else {
            made += text.substr(at, bytes);
        }
        at += bytes;
    }
    return made;
}

std::string typed(std::string_view stands) {
    std::string made;
    std::optional<char32_t> upper;
    for (std::size_t at = 0; at < stands.size();) {
        const std::size_t bytes = bytes_at(stands, at);
        const char32_t code = bytes == 3 ? code_at(stands, at, bytes) : 0;
        if (code >= first_upper && code < first_upper + halves) {
            upper = code - first_upper;
        } else if (code >= first_lower && code < first_lower + halves) {
            if (upper) {
                const char32_t whole = beyond + (*upper << 10U) + (code - first_lower);
                made += static_cast<char>(0xF0U | whole >> 18U);
                made += static_cast<char>(0x80U | (whole >> 12U & 0x3FU));
                made += static_cast<char>(0x80U | (whole >> 6U & 0x3FU));
                made += static_cast<char>(0x80U | (whole & 0x3FU));
            }
            upper.reset();
        } else {
            made += stands.substr(at, bytes);
            upper.reset();
        }
        at += bytes;
    }
    return made;
}

bool type_on(const char* id, char* text, std::size_t size) {
    const std::string before = for_typing(text);
    // Two stand-ins take six bytes where the letter takes four.
    std::vector<char> line(std::max(before.size() + 1, size * 3 / 2));
    before.copy(line.data(), before.size());
    const bool entered =
        ImGui::InputText(id, line.data(), line.size(), ImGuiInputTextFlags_EnterReturnsTrue);
    std::string now = typed(line.data());
    while (now.size() >= size) {
        // A whole letter goes: its bytes but the first are 10xxxxxx (RFC 3629).
        while ((static_cast<unsigned char>(now.back()) & 0xC0U) == 0x80U)
            now.pop_back();
        now.pop_back();
    }
    now.copy(text, now.size());
    text[now.size()] = '\0';
    return entered;
}

}  // namespace bentline::window
