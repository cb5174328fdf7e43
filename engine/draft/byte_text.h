// Bytes as text, for what a text file of UTF-8 cannot hold: the name of a file may be any bytes.
// [any]
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace bentline {

// Well-formed by RFC 3629.
bool is_utf8(const std::string& bytes);

// Two digits of base 16 a byte (RFC 4648, clause 8; written in small letters), and back; empty
// where the text is not that.
std::string to_hex(std::string_view bytes);
std::optional<std::string> from_hex(std::string_view text);

}  // namespace bentline
