#pragma once

#include <stdint.h>

int esp_sleep_enable_timer_wakeup(uint64_t us);
void esp_deep_sleep_start();
