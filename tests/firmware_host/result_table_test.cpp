// SPDX-License-Identifier: MIT
#include "firmware_host/record/result_table.hpp"

#include <catch2/catch.hpp>
#include <limits>

#include "firmware_host/exit_code.hpp"

using namespace benchward;

TEST_CASE("a number is shown with two digits of its standard uncertainty", "[host][table]") {
  // JCGM 100:2008, 7.2.6: at most two significant digits of the uncertainty.
  CHECK(number_in_words(538.4723736, 0.7807) == "538.47");
  CHECK(number_in_words(0.0045644567, 2.3e-6) == "0.0045645");
  CHECK(number_in_words(99.1771623, 0.00098) == "99.17716");
  CHECK(number_in_words(5.0, 0.0) == "5.000");
  CHECK(number_in_words(0.0, 0.0) == "0");
  CHECK(number_in_words(std::numeric_limits<double>::quiet_NaN(), 0.1) == "no number");
}

TEST_CASE("small resistances and their uncertainty stand in one decimal part, never in exponents", "[host][table]") {
  Result result;
  result.test = "winding_resistance";
  result.quantity = "resistance_ohm";
  result.unit = "ohm";
  result.value = 0.00124189;
  result.uncertainty = Uncertainty{};
  result.uncertainty->standard = 6.25e-7;
  CHECK(of_result_in_words(result, result.value) == "1.24189 m\u03a9");
  CHECK(of_result_in_words(result, 2.0 * result.uncertainty->standard) == "0.00125 m\u03a9");
  result.value = 0.000124189;
  CHECK(of_result_in_words(result, result.value) == "124.19 \u00b5\u03a9");
  result.value = 1.84297;
  result.uncertainty->standard = 0.00093;
  CHECK(of_result_in_words(result, result.value) == "1.84297 ohm");
}

TEST_CASE("a name leaves out what stands beside it", "[host][table]") {
  Result result;
  result.quantity = "load_loss_55c_w";
  result.at = "55 degC";
  CHECK(quantity_in_words(result) == "load loss, 55 degC");
  result.quantity = "top_minus_bottom_k";
  result.at.clear();
  CHECK(quantity_in_words(result) == "top minus bottom");
}

TEST_CASE("the margin is the distance to the nearest side of the limit, negative outside", "[host][table]") {
  Result result;
  result.value = 0.3;
  result.unit = "%";
  Limit limit;
  limit.lower = -0.5;
  limit.upper = 0.5;
  limit.unit = "%";
  result.limit = limit;
  CHECK(margin_in_words(result) == "0.2000 %");
  result.value = 0.7;
  CHECK(margin_in_words(result) == "-0.2000 %");
  CHECK(limit_in_words(limit) == "-0.5 to 0.5 %");
  limit.lower.reset();
  CHECK(limit_in_words(limit) == "at most 0.5 %");
}

TEST_CASE("a value measured in another unit stands in its own unit", "[host][table]") {
  Evaluation evaluation;
  evaluation.test = "ratio";
  Result result;
  result.test = "ratio";
  result.quantity = "ratio_error_percent";
  result.at = "tap 3, H1-H2:X1-X3";
  result.value = -0.016;
  result.unit = "%";
  result.measured = 29.9952;
  result.measured_unit = "1";
  evaluation.results.push_back(result);
  auto const table = result_table({evaluation});
  CHECK(table.find("29.9952 ") != std::string::npos);
  CHECK(table.find("29.9952 %") == std::string::npos);
  CHECK(table.find("ratio error, tap 3, H1-H2:X1-X3") != std::string::npos);
}

TEST_CASE("an evaluation that cannot be judged says so in the table", "[host][table]") {
  Evaluation evaluation;
  evaluation.test = "winding_resistance";
  evaluation.invalid_reason = "sense lead open";
  CHECK(result_table({evaluation}).find("INVALID: sense lead open") != std::string::npos);
}

TEST_CASE("over a run exit 5 beats 4 beats 3 beats 1 beats 0", "[host][exit]") {
  CHECK(worse(ExitCode::record_not_kept, ExitCode::stopped) == ExitCode::record_not_kept);
  CHECK(worse(ExitCode::invalid, ExitCode::stopped) == ExitCode::stopped);
  CHECK(worse(ExitCode::rejected, ExitCode::invalid) == ExitCode::invalid);
  CHECK(worse(ExitCode::done, ExitCode::rejected) == ExitCode::rejected);
}
