// A small CRT controller of the MC6845 kind and a card around it, for writing captures with a Verilog simulator.
// Register meanings as in the MC6845 data sheet: R0 and R4 are totals - 1, R2 and R7 sync positions, R3 the hsync
// width in characters, R5 extra scanlines, R9 scanlines per row - 1; vsync always lasts 16 scanlines.
`timescale 1ps / 1ps

module crtc_card #(
    parameter R0 = 113, R1 = 80, R2 = 90, R3 = 10, R4 = 31, R5 = 6, R6 = 25, R7 = 28, R9 = 7,
    parameter DOTS_PER_CHARACTER = 8,
    parameter DOT_PICOSECONDS = 69841
) (
    output reg hsync,
    output reg vsync,
    output reg [3:0] code
);
  integer dot, character, raster, row, adjust, hsync_left, vsync_left, base, address, glyph;
  reg adjusting, lit;

  initial begin
    hsync = 0; vsync = 0; code = 0;
    dot = 0; character = 0; raster = 0; row = 0; adjust = 0; base = 0;
    hsync_left = 0; vsync_left = 0; adjusting = 0;
  end

  // invented screen memory: glyph, ink and paper are formulas of the refresh address and the raster address
  function [3:0] picture(input integer ma, input integer ra, input integer k);
    begin
      glyph = ((ma * 57 + ra * 29) ^ (ma >> 2)) & 255;
      lit = ((glyph >> (k & 7)) ^ (k >> 3)) & 1;
      picture = lit ? 1 + (ma % 15) : (ma >> 3) & 7;
    end
  endfunction

  always begin
    if (dot == 0) begin
      if (hsync_left > 0) hsync_left = hsync_left - 1;
      if (character == R2) hsync_left = R3;
      if (character == 0 && !adjusting && row == R7 && raster == 0) vsync_left = 16;
      else if (character == 0 && vsync_left > 0) vsync_left = vsync_left - 1;
      hsync = hsync_left > 0;
      vsync = vsync_left > 0;
    end
    address = base + character;
    code = (character < R1 && row < R6 && !adjusting) ? picture(address, raster, dot) : 0;
    #(DOT_PICOSECONDS);
    dot = dot + 1;
    if (dot == DOTS_PER_CHARACTER) begin
      dot = 0;
      character = character + 1;
      if (character > R0) begin
        character = 0;
        next_scanline;
      end
    end
  end

  task next_scanline;
    begin
      if (adjusting) begin
        adjust = adjust + 1;
        if (adjust == R5) next_frame;
      end else if (raster < R9) raster = raster + 1;
      else begin
        raster = 0;
        base = base + R1;
        if (row < R4) row = row + 1;
        else if (R5 > 0) adjusting = 1;
        else next_frame;
      end
    end
  endtask

  task next_frame;
    begin
      adjusting = 0; adjust = 0; row = 0; raster = 0; base = 0;
    end
  endtask
endmodule

// The 9-pin connector of a colour card.
module rgbi_connector #(
    parameter R0 = 113, R1 = 80, R2 = 90, R3 = 10, R4 = 31, R5 = 6, R6 = 25, R7 = 28, R9 = 7,
    parameter DOTS_PER_CHARACTER = 8, DOT_PICOSECONDS = 69841, DOTS = 1000
);
  wire HSYNC, VSYNC, R, G, B, I;
  crtc_card #(.R0(R0), .R1(R1), .R2(R2), .R3(R3), .R4(R4), .R5(R5), .R6(R6), .R7(R7), .R9(R9),
      .DOTS_PER_CHARACTER(DOTS_PER_CHARACTER), .DOT_PICOSECONDS(DOT_PICOSECONDS))
      card (.hsync(HSYNC), .vsync(VSYNC), .code({I, B, G, R}));
  reg [64 * 64:1] path;
  reg [63:0] picoseconds;
  initial begin
    if ($value$plusargs("vcd=%s", path)) $dumpfile(path);
    $dumpvars(0, HSYNC, VSYNC, R, G, B, I);
    picoseconds = DOTS;
    picoseconds = picoseconds * DOT_PICOSECONDS;
    #(picoseconds) $finish(0);
  end
endmodule

// The same of a monochrome card, whose vsync is a low pulse.
module mono_connector #(
    parameter R0 = 97, R1 = 80, R2 = 82, R3 = 15, R4 = 25, R5 = 6, R6 = 25, R7 = 25, R9 = 13,
    parameter DOTS_PER_CHARACTER = 9, DOT_PICOSECONDS = 61512, DOTS = 1000
);
  wire HSYNC, VSYNC, inverted, VIDEO, I;
  wire [1:0] unconnected;
  assign VSYNC = ~inverted;
  crtc_card #(.R0(R0), .R1(R1), .R2(R2), .R3(R3), .R4(R4), .R5(R5), .R6(R6), .R7(R7), .R9(R9),
      .DOTS_PER_CHARACTER(DOTS_PER_CHARACTER), .DOT_PICOSECONDS(DOT_PICOSECONDS))
      card (.hsync(HSYNC), .vsync(inverted), .code({unconnected, I, VIDEO}));
  reg [64 * 64:1] path;
  reg [63:0] picoseconds;
  initial begin
    if ($value$plusargs("vcd=%s", path)) $dumpfile(path);
    $dumpvars(0, HSYNC, VSYNC, VIDEO, I);
    picoseconds = DOTS;
    picoseconds = picoseconds * DOT_PICOSECONDS;
    #(picoseconds) $finish(0);
  end
endmodule
