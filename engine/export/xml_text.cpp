// UTF-8 by RFC 3629: no overlong forms, no surrogates, nothing above U+10FFFF.
#include "engine/export/xml_text.h"

#include <sstream>

namespace bentline {
namespace {

// How many bytes the character that begins here has; 0: it is none.
std::size_t character_at(std::string_view text, std::size_t at) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
    const unsigned lead = byte(at);
    if (lead < 0x80) return 1;
    const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : lead >= 0xC2 ? 2 : 0;
    if (length == 0 || lead > 0xF4 || at + length > text.size()) return 0;
    for (std::size_t i = at + 1; i < at + length; ++i) {
        if ((byte(i) & 0xC0U) != 0x80) return 0;
    }
    const unsigned second = byte(at + 1);
    const bool overlong = (lead == 0xE0 && second < 0xA0) || (lead == 0xF0 && second < 0x90);
    const bool surrogate = lead == 0xED && second >= 0xA0;
    const bool beyond = lead == 0xF4 && second >= 0x90;
    return overlong || surrogate || beyond ? 0 : length;
}

}  // namespace

std::string xml_safe(std::string_view text) {
    std::string safe;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t length = character_at(text, at);
        const std::string_view character = text.substr(at, length);
        if (length == 0) {
            safe += "\xEF\xBF\xBD";
        } else if (character == "\xEF\xBF\xBE" || character == "\xEF\xBF\xBF") {
            // U+FFFE and U+FFFF are no characters of XML.
        } else if (length > 1 || static_cast<unsigned char>(text[at]) >= 0x20 || text[at] == '\t' ||
                   text[at] == '\n' || text[at] == '\r') {
            safe += character;
        }
        at += std::max<std::size_t>(length, 1);
    }
    return safe;
}

std::string to_text(const pugi::xml_document& document) {
    std::ostringstream out;
    document.save(out, "  ", pugi::format_default, pugi::encoding_utf8);
    return out.str();
}

}  // namespace bentline
