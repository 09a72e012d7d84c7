#include "digitizer/sheet/sheet.h"

#include <filesystem>
#include <fstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/core.hpp>

#include "digitizer/sheet/exif.h"
#include "tests/digitizer/sheet/sheet_files.h"

namespace islebook {
namespace {

using testing::CornersPicture;
using testing::FileBytes;
using ::testing::HasSubstr;

// Which of the four corner colors stands in each corner, clockwise from the top left: "RGBK".
std::string CornersOf(const cv::Mat3b& p) {
  auto name = [](cv::Vec3b c) {
    return c[2] > 150 && c[0] < 100 ? 'R' : c[1] > 130 && c[2] < 100 ? 'G' : c[0] > 150 && c[2] < 100 ? 'B' : c[0] < 130 ? 'K' : '?';
  };
  return {name(p(5, 5)), name(p(5, p.cols - 6)), name(p(p.rows - 6, p.cols - 6)), name(p(p.rows - 6, 5))};
}

Error ErrorOf(const FileBytes& bytes, SheetOptions options = {}) {
  const auto sheet = DecodeSheet(bytes, "sheet", options);
  EXPECT_FALSE(sheet.has_value());
  return sheet ? Error{} : sheet.error();
}

bool IsOneSentence(const Error& error) {
  const std::string& m = error.message;
  return !m.empty() && m.back() == '.' && m.find('\n') == std::string::npos && m.find(". ") == std::string::npos;
}

struct Form {
  const char* name;
  const char* format;
  FileBytes bytes;
  int tolerance;
};

TEST(Sheet, EveryFormatGivesTheSamePicture) {
  const cv::Mat3b picture = CornersPicture();
  const Form forms[] = {
      {"jpeg", "jpeg", testing::MakeJpeg(picture), 8},
      {"png", "png", testing::MakePng(picture), 0},
      {"png of 16 bits", "png", testing::MakePng(picture, {.bit_depth = 16}), 0},
      {"png with a palette", "png", testing::MakePng(picture, {.palette = true}), 0},
      {"png, opaque alpha", "png", testing::MakePng(picture, {.alpha = 255}), 0},
      {"png, interlaced", "png", testing::MakePng(picture, {.interlaced = true}), 0},
      {"tiff", "tiff", testing::MakeTiff(picture), 0},
      {"webp", "webp", testing::MakeWebp(picture), 0},
      {"bmp", "bmp", testing::MakeBmp(picture), 0},
      {"bmp from the top", "bmp", testing::MakeBmp(picture, true), 0},
      {"ppm", "pnm", testing::MakePpm(picture), 0},
  };
  for (const Form& form : forms) {
    SCOPED_TRACE(form.name);
    const auto sheet = DecodeSheet(form.bytes, "a-file");
    ASSERT_TRUE(sheet.has_value()) << sheet.error().message;
    EXPECT_EQ(sheet->format, form.format);
    EXPECT_EQ(sheet->file, "a-file");
    ASSERT_EQ(sheet->pixels.size(), picture.size());
    EXPECT_LE(cv::norm(sheet->pixels, picture, cv::NORM_INF), form.tolerance);
  }
}

TEST(Sheet, TransparentPartsStandOnWhite) {
  const auto clear = DecodeSheet(testing::MakePng(CornersPicture(), {.alpha = 0}), "clear.png");
  ASSERT_TRUE(clear.has_value());
  EXPECT_EQ(clear->pixels(3, 3), cv::Vec3b(255, 255, 255));
  const auto half = DecodeSheet(testing::MakePng(CornersPicture(), {.alpha = 128}), "half.png");
  ASSERT_TRUE(half.has_value());
  EXPECT_NEAR(half->pixels(3, 3)[0], 255 - (255 - 20) * 128 / 255.0, 1.0);
}

TEST(Sheet, GrayPicturesBecomeThreeEqualChannels) {
  for (const FileBytes& bytes : {testing::MakePng(CornersPicture(), {.gray = true}), testing::MakeJpeg(CornersPicture(), {}, 95, true)}) {
    const auto sheet = DecodeSheet(bytes, "gray");
    ASSERT_TRUE(sheet.has_value());
    for (const cv::Vec3b& p : sheet->pixels) ASSERT_TRUE(p[0] == p[1] && p[1] == p[2]);
  }
}

// EXIF 2.3, tag 0x0112: where the stored row 0 and column 0 are when seen upright (values from memory).
TEST(Sheet, ExifOrientationTurnsThePictureUpright) {
  const cv::Mat3b stored = CornersPicture();  // corners R G B K, clockwise
  const char* seen[] = {"RGBK", "GRKB", "BKRG", "KBGR", "RKBG", "KRGB", "BGRK", "GBKR"};
  for (int orientation = 1; orientation <= 8; ++orientation) {
    for (const bool little : {true, false}) {
      SCOPED_TRACE(orientation);
      const auto jpeg = DecodeSheet(testing::MakeJpeg(stored, testing::MakeExif(orientation, little)), "turned.jpg");
      ASSERT_TRUE(jpeg.has_value());
      EXPECT_EQ(CornersOf(jpeg->pixels), seen[orientation - 1]);
      EXPECT_EQ(jpeg->pixels.cols, orientation < 5 ? stored.cols : stored.rows);
    }
    const auto tiff = DecodeSheet(testing::MakeTiff(stored, orientation), "turned.tif");
    ASSERT_TRUE(tiff.has_value());
    EXPECT_EQ(CornersOf(tiff->pixels), seen[orientation - 1]) << "tiff, orientation " << orientation;
  }
}

TEST(Sheet, BrokenExifCountsAsUpright) {
  const FileBytes whole = testing::MakeExif(6);
  for (std::size_t length = 0; length < whole.size(); ++length) {
    const FileBytes cut(whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(length));
    const int orientation = ReadExifOrientation(cut);
    EXPECT_TRUE(orientation == 1 || orientation == 6) << length;
    if (length < 20) {
      EXPECT_EQ(orientation, 1) << length;
    }
  }
  FileBytes odd = whole;
  odd[10] = 0xFF, odd[11] = 0xFF, odd[12] = 0xFF, odd[13] = 0x7F;  // the directory lies far outside
  EXPECT_EQ(ReadExifOrientation(odd), 1);
  EXPECT_EQ(ReadExifOrientation(testing::MakeExif(9)), 1);
  EXPECT_EQ(ReadExifOrientation(testing::MakeExif(0)), 1);
  const auto sheet = DecodeSheet(testing::MakeJpeg(CornersPicture(), odd), "odd.jpg");
  ASSERT_TRUE(sheet.has_value());
  EXPECT_EQ(CornersOf(sheet->pixels), "RGBK");
}

TEST(Sheet, HashIsThatOfTheBytes) {
  // coreutils' sha256sum of the same bytes, a 64 x 64 white PBM in text: printf 'P1\n64 64\n'; 4096 times 0.
  const FileBytes bytes = testing::FromText("P1\n64 64\n" + std::string(4096, '0'));
  const auto sheet = DecodeSheet(bytes, "white.pbm");
  ASSERT_TRUE(sheet.has_value()) << sheet.error().message;
  EXPECT_EQ(sheet->sha256, "6db7143c2160e8b904dc565463b00c44fedeba9ba2451b37d37ccebd0e604a2a");
  EXPECT_EQ(sheet->pixels(0, 0), cv::Vec3b(255, 255, 255));
}

TEST(Sheet, WhatIsNoPictureIsRefusedInOneSentence) {
  const FileBytes jpeg = testing::MakeJpeg(CornersPicture(400, 300)), png = testing::MakePng(CornersPicture(400, 300));
  const FileBytes tiff = testing::MakeTiff(CornersPicture(400, 300)), webp = testing::MakeWebp(CornersPicture(400, 300));
  const FileBytes bmp = testing::MakeBmp(CornersPicture(400, 300)), ppm = testing::MakePpm(CornersPicture(400, 300));
  std::vector<std::pair<std::string, FileBytes>> bad = {
      {"empty", {}}, {"text", testing::FromText("Flow, pressure ratio\n1, 2\n")}, {"noise", FileBytes(500, 0xA7)}};
  for (const auto& [name, whole] : {std::pair("jpeg", jpeg), {"png", png}, {"tiff", tiff}, {"webp", webp}, {"bmp", bmp}, {"ppm", ppm}})
    for (const double part : {0.05, 0.5, 0.9})
      bad.push_back({std::string(name) + " cut",
                     FileBytes(whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(part * static_cast<double>(whole.size())))});
  for (const auto& [name, bytes] : bad) {
    SCOPED_TRACE(name);
    const Error error = ErrorOf(bytes);
    EXPECT_EQ(error.code, ErrorCode::kNotASheet);
    EXPECT_TRUE(IsOneSentence(error)) << error.message;
    EXPECT_EQ(error.place, "sheet");
  }
  EXPECT_THAT(ErrorOf({}).message, HasSubstr("empty"));
  EXPECT_THAT(ErrorOf(testing::FromText("just words")).message, HasSubstr("text"));
  EXPECT_THAT(ErrorOf(FileBytes(jpeg.begin(), jpeg.begin() + static_cast<std::ptrdiff_t>(jpeg.size() / 2))).message, HasSubstr("cut short"));
}

TEST(Sheet, SizesAreJudgedBeforeDecoding) {
  const Error huge = ErrorOf(testing::MakePngHeader(30000, 30000));
  EXPECT_EQ(huge.code, ErrorCode::kSheetTooLarge);
  EXPECT_THAT(huge.message, HasSubstr("30000 x 30000"));
  EXPECT_TRUE(IsOneSentence(huge));
  const Error tiny = ErrorOf(testing::MakePng(cv::Mat3b(1, 1, cv::Vec3b(0, 0, 0))));
  EXPECT_EQ(tiny.code, ErrorCode::kSheetTooSmall);
  EXPECT_TRUE(IsOneSentence(tiny));
  EXPECT_EQ(ErrorOf(testing::FromText("P6\n200000 200000\n255\n")).code, ErrorCode::kSheetTooLarge);
  EXPECT_EQ(ErrorOf(testing::MakePng(CornersPicture(400, 300)), {.max_pixels = 100000}).code, ErrorCode::kSheetTooLarge);
}

TEST(Sheet, PdfPagesAreDrawnAtTheirSize) {
  // 36 pt are half an inch: 150 px at 300 dpi, wherever the page's edges fall.
  const auto sheet = DecodeSheet(testing::MakePdf(200.3, 100.7, 72, 30), "page.pdf");
  ASSERT_TRUE(sheet.has_value()) << sheet.error().message;
  EXPECT_EQ(sheet->format, "pdf");
  EXPECT_EQ(sheet->dpi, 300.0);
  EXPECT_EQ(sheet->pixels.cols, 835);  // round(200.3 / 72 * 300)
  EXPECT_EQ(sheet->pixels.rows, 420);  // round(100.7 / 72 * 300)
  const double left = 72.0 / 72 * 300, bottom = 420 - 30.0 / 72 * 300;
  EXPECT_EQ(sheet->pixels(static_cast<int>(bottom) - 75, static_cast<int>(left) + 75), cv::Vec3b(0, 0, 0));
  EXPECT_EQ(sheet->pixels(static_cast<int>(bottom) - 75, static_cast<int>(left) - 4), cv::Vec3b(255, 255, 255));
  EXPECT_EQ(sheet->pixels(static_cast<int>(bottom) + 4, static_cast<int>(left) + 75), cv::Vec3b(255, 255, 255));
  EXPECT_EQ(sheet->pixels(static_cast<int>(bottom) - 154, static_cast<int>(left) + 75), cv::Vec3b(255, 255, 255));
  const auto turned = DecodeSheet(testing::MakePdf(200, 100, 0, 0, 90), "turned.pdf");
  ASSERT_TRUE(turned.has_value()) << turned.error().message;
  EXPECT_EQ(turned->pixels.cols, 417);
  EXPECT_EQ(turned->pixels.rows, 833);
  EXPECT_EQ(turned->pixels(10, 10), cv::Vec3b(0, 0, 0));
}

TEST(Sheet, PdfFaultsAreNamed) {
  const FileBytes whole = testing::MakePdf(200, 100, 10, 10);
  EXPECT_EQ(ErrorOf(FileBytes(whole.begin(), whole.begin() + 60)).code, ErrorCode::kNotASheet);
  const Error page = ErrorOf(whole, {.page = 4});
  EXPECT_EQ(page.code, ErrorCode::kNotFound);
  EXPECT_THAT(page.message, HasSubstr("no page 4"));
  EXPECT_EQ(ErrorOf(testing::MakePdf(14000, 14000, 10, 10)).code, ErrorCode::kSheetTooLarge);
}

TEST(Sheet, SvgLengthsWithoutUnitAreNinetySixthsOfAnInch) {
  // CSS: 1 px = 1/96 in.
  const auto sheet = DecodeSheet(
      testing::FromText(
          "<?xml version=\"1.0\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"192\" height=\"96\"><rect width=\"48\" height=\"48\"/></svg>"),
      "page.svg");
  ASSERT_TRUE(sheet.has_value()) << sheet.error().message;
  EXPECT_EQ(sheet->pixels.cols, 600);
  EXPECT_EQ(sheet->pixels.rows, 300);
  EXPECT_EQ(sheet->pixels(140, 140), cv::Vec3b(0, 0, 0));
  EXPECT_EQ(sheet->pixels(160, 160), cv::Vec3b(255, 255, 255));
  EXPECT_EQ(ErrorOf(testing::FromText("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"900000\" height=\"900000\"/>")).code,
            ErrorCode::kSheetTooLarge);
  EXPECT_EQ(ErrorOf(testing::FromText("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"90\"")).code, ErrorCode::kNotASheet);
}

TEST(Sheet, PdfPagesHaveNoColumnTooMany) {
  // 800 pt are 3333.3 px: 3333, on which the page is drawn whole, and not one more beside them.
  const auto sheet = DecodeSheet(testing::MakePdf(800, 600, 10, 10), "page.pdf");
  ASSERT_TRUE(sheet.has_value());
  EXPECT_EQ(sheet->pixels.size(), cv::Size(3333, 2500));
}

// A scan in a PDF keeps its own pixels, in one picture or in strips, whatever the page's resolution.
TEST(Sheet, ScannedPdfPagesKeepTheirOwnPixels) {
  const cv::Mat3b picture = CornersPicture(431, 290);
  for (const int strips : {1, 3}) {
    const auto sheet = DecodeSheet(testing::MakeScanPdf(picture, 110.0, strips), "scan.pdf");
    ASSERT_TRUE(sheet.has_value()) << sheet.error().message;
    EXPECT_EQ(sheet->pixels.size(), cv::Size(1175, 791));  // 431 and 290 of 110 to the inch, at 300
    ASSERT_TRUE(sheet->scan.has_value());
    EXPECT_NEAR(sheet->scan->scale, 110.0 / 300.0, 1e-5);
    ASSERT_EQ(sheet->scan->pixels.size(), picture.size());
    EXPECT_EQ(cv::norm(sheet->scan->pixels, picture, cv::NORM_INF), 0.0);
    EXPECT_EQ(sheet->pixels(10, 10), picture(3, 3));
    EXPECT_EQ(sheet->pixels(780, 1160), picture(286, 425));
  }
  EXPECT_FALSE(DecodeSheet(testing::MakeScanPdf(picture, 110.0), "scan.pdf", {.page_dpi = 200.0})->scan.has_value());  // as asked
  EXPECT_FALSE(DecodeSheet(testing::MakeScanPdf(picture, 300.0), "scan.pdf")->scan.has_value());                       // nothing to keep
  EXPECT_FALSE(DecodeSheet(testing::MakeScanPdf(picture, 600.0), "scan.pdf")->scan.has_value());  // two by two of its pixels make one
}

TEST(Sheet, PagesBringTheirLinesAndWords) {
  const auto pdf = DecodeSheet(testing::MakePdf(200, 100, 10, 10), "page.pdf");
  ASSERT_TRUE(pdf.has_value());
  ASSERT_TRUE(pdf->source.has_value());
  EXPECT_THAT(pdf->source->paths, HasSubstr("<path"));
  EXPECT_EQ(pdf->source->doubt, "");
  const auto svg = DecodeSheet(
      testing::FromText("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"200\" height=\"100\"><text x=\"20\" y=\"50\">lb/min</text></svg>"),
      "page.svg");
  ASSERT_TRUE(svg.has_value());
  EXPECT_THAT(svg->source->words, HasSubstr("lb/min"));
  EXPECT_FALSE(DecodeSheet(testing::MakePng(CornersPicture()), "page.png")->source.has_value());
}

TEST(Sheet, HostilePagesEndInOneSentence) {
  // A password is asked for: the standard security handler, revision 2 (ISO 32000-1, 7.6.3), with keys that no empty password opens.
  FileBytes locked = testing::MakePdf(200, 100, 10, 10);
  const std::string key(64, 'a');
  const std::string text(locked.begin(), locked.end());
  const std::size_t at = text.find("/Root 1 0 R");
  ASSERT_NE(at, std::string::npos);
  const Error lock = ErrorOf(testing::FromText(text.substr(0, at) + "/ID [<00> <00>] /Encrypt << /Filter /Standard /V 1 /R 2 /P -4 /O <" + key +
                                               "> /U <" + key + "> >> " + text.substr(at)));
  EXPECT_EQ(lock.code, ErrorCode::kNotASheet);
  EXPECT_THAT(lock.message, HasSubstr("password"));
  EXPECT_TRUE(IsOneSentence(lock));
  // Entities that grow tenfold, nine times.
  std::string bomb = "<?xml version=\"1.0\"?><!DOCTYPE svg [<!ENTITY a0 \"aaaaaaaaaa\">";
  for (int i = 1; i < 10; ++i) {
    bomb += "<!ENTITY a" + std::to_string(i) + " \"";
    for (int k = 0; k < 10; ++k) bomb += "&a" + std::to_string(i - 1) + ";";
    bomb += "\">";
  }
  bomb += "]><svg xmlns=\"http://www.w3.org/2000/svg\" width=\"200\" height=\"100\"><text>&a9;</text></svg>";
  const auto blown = DecodeSheet(testing::FromText(bomb), "bomb.svg");
  if (!blown) {
    EXPECT_TRUE(IsOneSentence(blown.error()));
  }
  const FileBytes cut = testing::FromText("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"200\" height=\"100\"><path d=\"M 0 0 L 10");
  EXPECT_EQ(ErrorOf(cut).code, ErrorCode::kNotASheet);
  EXPECT_TRUE(IsOneSentence(ErrorOf(cut)));
}

TEST(Sheet, PagesOfAMillionLinesAreStillSheets) {
  // Within the limits of time it is drawn; its lines may be too many to follow, and then the sheet says so.
  std::string svg =
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"400\" height=\"300\"><path fill=\"none\" stroke=\"black\" stroke-width=\"0.1\" d=\"";
  for (int i = 0; i < 1'000'000; ++i) svg += "M" + std::to_string(i % 400) + " " + std::to_string(i % 300) + "l1 1";
  const auto sheet = DecodeSheet(testing::FromText(svg + "\"/></svg>"), "million.svg");
  if (sheet) {
    ASSERT_TRUE(sheet->source.has_value());
    EXPECT_NE(sheet->source->paths.empty(), sheet->source->doubt.empty());
  } else {
    EXPECT_TRUE(IsOneSentence(sheet.error()));
  }
}

TEST(Sheet, AnEmptyPageIsASheet) {
  const auto sheet = DecodeSheet(testing::FromText("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"200\" height=\"100\"/>"), "empty.svg");
  ASSERT_TRUE(sheet.has_value()) << sheet.error().message;
  EXPECT_EQ(sheet->pixels(50, 50), cv::Vec3b(255, 255, 255));
}

TEST(Sheet, PagesOfATiffAreCounted) {
  const FileBytes bytes = testing::MakeTiff(CornersPicture(), 1, 2);
  EXPECT_TRUE(DecodeSheet(bytes, "two.tif", {.page = 2}).has_value());
  EXPECT_EQ(ErrorOf(bytes, {.page = 3}).code, ErrorCode::kNotFound);
  EXPECT_EQ(ErrorOf(testing::MakePng(CornersPicture()), {.page = 2}).code, ErrorCode::kNotFound);
}

TEST(Sheet, FilesThatCannotBeReadAreNamed) {
  const auto none = ReadSheet("/nowhere/sheet.png");
  ASSERT_FALSE(none.has_value());
  EXPECT_EQ(none.error().code, ErrorCode::kCannotRead);
  EXPECT_EQ(none.error().place, "/nowhere/sheet.png");
  const auto folder = ReadSheet("/");
  ASSERT_FALSE(folder.has_value());
  EXPECT_EQ(folder.error().code, ErrorCode::kCannotRead);
}

TEST(Sheet, OptionsAreChecked) {
  EXPECT_EQ(ErrorOf(testing::MakePng(CornersPicture()), {.page = 0}).code, ErrorCode::kInvalidArgument);
  EXPECT_FALSE(SheetOptions{.page_dpi = 10.0}.Check().has_value());
  EXPECT_FALSE(SheetOptions{.max_pixels = 0}.Check().has_value());
  EXPECT_TRUE(SheetOptions{}.Check().has_value());
}

}  // namespace
}  // namespace islebook
