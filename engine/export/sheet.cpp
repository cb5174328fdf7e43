// Draws marks with Cairo.
#include "engine/export/sheet.h"

#include <algorithm>
#include <array>
#include <memory>
#include <regex>

#include <cairo-ft.h>
#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <cairo.h>
#include <ft2build.h>
#include FT_FREETYPE_H

#include "engine/ending.h"

namespace bentline {

namespace {

using engraving::CurveShape;
using engraving::Face;
using engraving::FilledShape;
using engraving::Fonts;
using engraving::GlyphShape;
using engraving::LineShape;
using engraving::Mark;
using engraving::Point;
using engraving::Sheet;
using engraving::TextShape;

template <class T, void (*destroy)(T*)>
struct Destroy {
    void operator()(T* object) const { destroy(object); }
};
using Surface = std::unique_ptr<cairo_surface_t, Destroy<cairo_surface_t, cairo_surface_destroy>>;
using Pen = std::unique_ptr<cairo_t, Destroy<cairo_t, cairo_destroy>>;
using FontFace =
    std::unique_ptr<cairo_font_face_t, Destroy<cairo_font_face_t, cairo_font_face_destroy>>;

// The drawing library keeps faces longer than their users do; what stands behind a face goes with
// it.
struct OpenFace {
    std::shared_ptr<std::remove_pointer_t<FT_Library>> library;
    FT_Face face = nullptr;
    OpenFace() = default;
    OpenFace(const OpenFace&) = delete;
    OpenFace& operator=(const OpenFace&) = delete;
    ~OpenFace() {
        if (face != nullptr) FT_Done_Face(face);
    }
};

constexpr std::size_t music = engraving::face_count;
using Faces = std::array<FontFace, engraving::face_count + 1>;

Result<FontFace> open_face(const std::shared_ptr<std::remove_pointer_t<FT_Library>>& library,
                           const std::filesystem::path& path) {
    static const cairo_user_data_key_t key{};
    auto open = std::make_unique<OpenFace>();
    open->library = library;
    if (FT_New_Face(library.get(), path.c_str(), 0, &open->face) != 0) {
        return Failure{FailureKind::unreadable,
                       path.string() + " is no longer there or cannot be read; try again",
                       {path.string(), {}, {}}};
    }
    FontFace face(cairo_ft_font_face_create_for_ft_face(open->face, FT_LOAD_NO_HINTING));
    const auto drop = [](void* data) { delete static_cast<OpenFace*>(data); };
    if (cairo_font_face_set_user_data(face.get(), &key, open.get(), drop) == CAIRO_STATUS_SUCCESS)
        open.release();  // NOLINT: owned by the face now
    return face;
}

Result<Faces> open_faces(const Fonts& fonts) {
    FT_Library raw = nullptr;
    if (FT_Init_FreeType(&raw) != 0)
        return Failure{FailureKind::unreadable, "the font reader did not start; try again", {}};
    const std::shared_ptr<std::remove_pointer_t<FT_Library>> library(
        raw, [](FT_Library l) { FT_Done_FreeType(l); });
    Faces faces;
    for (std::size_t i = 0; i <= music; ++i) {
        auto face = open_face(library, i == music ? fonts.music_file : fonts.faces[i].file);
        if (!face) return face.failure();
        faces[i] = std::move(*face);
    }
    return faces;
}

// Draws shapes with one pen, lengths in staff spaces.
class Drawer {
  public:
    Drawer(cairo_t* pen, const Fonts& fonts, const Faces& faces)
        : pen_(pen), fonts_(fonts), faces_(faces) {}

    void operator()(const LineShape& line) const {
        cairo_set_line_cap(pen_, CAIRO_LINE_CAP_BUTT);
        cairo_set_line_width(pen_, line.thickness);
        cairo_move_to(pen_, line.from.x, line.from.y);
        cairo_line_to(pen_, line.to.x, line.to.y);
        cairo_stroke(pen_);
    }
    void operator()(const CurveShape& c) const {
        cairo_set_line_width(pen_, c.thickness);
        cairo_set_line_cap(pen_, CAIRO_LINE_CAP_ROUND);
        cairo_set_line_join(pen_, CAIRO_LINE_JOIN_ROUND);
        const double swell = c.swelling * 2.0 / 3.0;  // of the handles, for that much in the middle
        cairo_move_to(pen_, c.a.x, c.a.y);
        cairo_curve_to(pen_, c.b.x, c.b.y + swell, c.c.x, c.c.y + swell, c.d.x, c.d.y);
        if (c.swelling > 0.0) {
            cairo_curve_to(pen_, c.c.x, c.c.y - swell, c.b.x, c.b.y - swell, c.a.x, c.a.y);
            cairo_close_path(pen_);
            cairo_fill_preserve(pen_);
        }
        cairo_stroke(pen_);
    }
    void operator()(const FilledShape& shape) const {
        for (const Point& p : shape.corners)
            cairo_line_to(pen_, p.x, p.y);
        cairo_close_path(pen_);
        cairo_fill(pen_);
    }
    void operator()(const GlyphShape& glyph) const {
        cairo_set_font_face(pen_, faces_[music].get());
        cairo_set_font_size(pen_, 4.0 * glyph.scale);
        const cairo_glyph_t one{fonts_[glyph.glyph].index, glyph.at.x, glyph.at.y};
        cairo_show_glyphs(pen_, &one, 1);
    }
    void operator()(const TextShape& text) const {
        const auto letters = engraving::set_letters(fonts_, text);
        for (std::size_t i = 0; i < letters.size();) {  // runs of one face
            std::size_t end = i;
            while (end < letters.size() && letters[end].face == letters[i].face)
                ++end;
            show(text, {letters.begin() + static_cast<std::ptrdiff_t>(i),
                        letters.begin() + static_cast<std::ptrdiff_t>(end)});
            i = end;
        }
    }

  private:
    void show(const TextShape& text, const std::vector<engraving::SetLetter>& run) const {
        std::vector<cairo_glyph_t> glyphs;
        std::vector<cairo_text_cluster_t> clusters;
        for (const engraving::SetLetter& letter : run) {
            glyphs.push_back({letter.index, text.at.x + letter.x, text.at.y});
            clusters.push_back({static_cast<int>(letter.bytes), 1});
        }
        const std::size_t first = run.front().first_byte;
        const std::size_t bytes = run.back().first_byte + run.back().bytes - first;
        cairo_set_font_face(pen_, faces_[static_cast<std::size_t>(run.front().face)].get());
        cairo_set_font_size(pen_, text.size);
        cairo_show_text_glyphs(pen_, text.text.data() + first, static_cast<int>(bytes),
                               glyphs.data(), static_cast<int>(glyphs.size()), clusters.data(),
                               static_cast<int>(clusters.size()),
                               static_cast<cairo_text_cluster_flags_t>(0));
    }

    cairo_t* pen_;
    const Fonts& fonts_;
    const Faces& faces_;
};

cairo_status_t append(void* bytes, const unsigned char* data, unsigned length) {
    static_cast<std::string*>(bytes)->append(reinterpret_cast<const char*>(data), length);
    return CAIRO_STATUS_SUCCESS;
}

void draw_marks(cairo_t* pen, const Drawer& drawer, const std::vector<Mark>& marks) {
    cairo_set_source_rgb(pen, 0.0, 0.0, 0.0);
    for (const Mark& mark : marks)
        std::visit(drawer, mark.shape);
}

// The library writes the moment of making into a PDF; blanks of the same length take its place, so
// that every offset in the file stays true.
std::string without_date(std::string pdf) {
    for (const char* key : {"/CreationDate", "/ModDate"}) {
        const std::size_t at = pdf.find(key);
        if (at == std::string::npos) continue;
        const std::size_t end = pdf.find(')', at);
        if (end != std::string::npos)
            std::fill(pdf.begin() + static_cast<std::ptrdiff_t>(at),
                      pdf.begin() + static_cast<std::ptrdiff_t>(end) + 1, ' ');
    }
    return pdf;
}

// The library numbers its surfaces through the life of the program.
std::string without_numbers(const std::string& svg) {
    static const std::regex numbered("id=\"surface[0-9]+\"");
    return std::regex_replace(svg, numbered, "id=\"sheet\"");
}

constexpr double points_a_mm = 72.0 / 25.4;

}  // namespace

Result<SheetFormat> sheet_format(const std::filesystem::path& path) {
    const std::string ending = small_ending(path);
    if (ending == ".pdf") return SheetFormat::pdf;
    if (ending == ".svg") return SheetFormat::svg;
    return Failure{
        FailureKind::out_of_range,
        path.string() + " ends neither in .pdf nor in .svg; give the sheet one of these endings",
        {path.string(), {}, {}}};
}

Result<std::string> sheet_bytes(const Sheet& sheet, const Fonts& fonts, SheetFormat format,
                                const std::string& title) {
    auto faces = open_faces(fonts);
    if (!faces) return faces.failure();
    const double scale = sheet.space_mm * points_a_mm;
    const double width = sheet.width * scale, height = sheet.height * scale;
    const double count = static_cast<double>(sheet.pages.size());
    std::string bytes;
    const bool pdf = format == SheetFormat::pdf;
    Surface surface(
        pdf ? cairo_pdf_surface_create_for_stream(append, &bytes, width, height)
            : cairo_svg_surface_create_for_stream(append, &bytes, width, height * count));
    if (pdf) {
        cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_TITLE, title.c_str());
        cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATOR, "Bentline");
    }
    Pen pen(cairo_create(surface.get()));
    if (!pdf) {
        cairo_set_source_rgb(pen.get(), 1.0, 1.0, 1.0);
        cairo_paint(pen.get());
    }
    const Drawer drawer(pen.get(), fonts, *faces);
    for (std::size_t i = 0; i < sheet.pages.size(); ++i) {
        cairo_save(pen.get());
        if (!pdf) cairo_translate(pen.get(), 0.0, height * static_cast<double>(i));
        cairo_scale(pen.get(), scale, scale);
        draw_marks(pen.get(), drawer, sheet.pages[i].marks);
        for (const engraving::System& system : sheet.pages[i].systems)
            draw_marks(pen.get(), drawer, system.marks);
        cairo_restore(pen.get());
        if (pdf) cairo_show_page(pen.get());
    }
    const cairo_status_t drawn = cairo_status(pen.get());
    pen.reset();
    cairo_surface_finish(surface.get());
    const cairo_status_t finished = cairo_surface_status(surface.get());
    const cairo_status_t status = drawn != CAIRO_STATUS_SUCCESS ? drawn : finished;
    if (status != CAIRO_STATUS_SUCCESS) {
        return Failure{FailureKind::cannot_write,
                       std::string("the sheet could not be drawn: ") +
                           cairo_status_to_string(status) + "; try the other format",
                       {}};
    }
    return pdf ? without_date(std::move(bytes)) : without_numbers(bytes);
}

}  // namespace bentline
