// The JSON library judges what is UTF-8; base 16 is the charconv header's.
#include "engine/draft/byte_text.h"

#include <charconv>

#include <nlohmann/json.hpp>

namespace bentline {

bool is_utf8(const std::string& bytes) {
    using Json = nlohmann::json;
    const std::string text = Json(bytes).dump(-1, ' ', false, Json::error_handler_t::ignore);
    return Json::parse(text) == bytes;
}

std::string to_hex(std::string_view bytes) {
    static constexpr std::string_view digits = "0123456789abcdef";
    std::string text;
    for (const char c : bytes) {
        const auto byte = static_cast<unsigned char>(c);
        text += digits[byte / 16U];
        text += digits[byte % 16U];
    }
    return text;
}

std::optional<std::string> from_hex(std::string_view text) {
    if (text.size() % 2 != 0) return std::nullopt;
    std::string bytes;
    for (std::size_t i = 0; i < text.size(); i += 2) {
        unsigned byte = 0;
        const char* const end = text.data() + i + 2;
        const auto [stop, error] = std::from_chars(text.data() + i, end, byte, 16);
        if (error != std::errc{} || stop != end) return std::nullopt;
        bytes += static_cast<char>(byte);
    }
    return bytes;
}

}  // namespace bentline
