// Letters of more than 16 bits while they stand in a line to type on: the toolkit knows none, and
// would put a replacement in their place as soon as the line has the keyboard.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace bentline::window {

// Each such letter as two of the private use area (The Unicode Standard, section 23.5), ten bits
// each as surrogates have them (section 3.9), and back. Text is UTF-8; `typed` forgets a half whose
// other half was rubbed out. [any]
std::string for_typing(std::string_view text);
std::string typed(std::string_view stands);
// The toolkit's line to type on, for a text of at most `size` - 1 bytes that may hold such letters.
// True when Enter was pressed in it. [window]
bool type_on(const char* id, char* text, std::size_t size);

}  // namespace bentline::window
