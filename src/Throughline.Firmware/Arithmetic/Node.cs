using System.Collections.Immutable;

namespace Throughline.Firmware;

/// <summary>What a node of an integer program does with its arguments.</summary>
public enum Operation
{
    /// <summary>Comes from outside.</summary>
    Input,

    Constant,

    /// <summary>So many readings of the argument, added up. As a value it is their mean.</summary>
    Sum,

    Add,

    Subtract,

    Multiply,

    /// <summary>Divided by a power of two.</summary>
    Shift,

    Divide,

    /// <summary>Held between two limits.</summary>
    Clamp,

    /// <summary>Held a distance away from zero, on the side where it is; 0 counts as above it.</summary>
    HoldAway,

    /// <summary>Straight lines between the points of a table whose places are a power of two apart.</summary>
    Table,

    /// <summary>The first argument while the second lies between two limits, else another number.</summary>
    Select,
}

/// <summary>One whole number of an integer program and all that is known of it.</summary>
public sealed record Node
{
    public required int Index { get; init; }

    /// <summary>Also its name in C.</summary>
    public required string Name { get; init; }

    public required Operation Operation { get; init; }

    /// <summary>Places of its arguments in the program, all before its own.</summary>
    public ImmutableArray<int> Arguments { get; init; } = [];

    /// <summary>Least and greatest number over all inputs, by interval arithmetic.</summary>
    public required Int128 Low { get; init; }

    public required Int128 High { get; init; }

    public required Word Word { get; init; }

    /// <summary>Its value is the number times this.</summary>
    public required double Step { get; init; }

    public string Unit { get; init; } = "";

    /// <summary>Greatest distance of its value from that of the exact computation with the same inputs, in <see cref="Unit"/>, as long as nothing overflows.</summary>
    public required double Error { get; init; }

    /// <summary>The constant; the readings of a sum; the places of a shift; what a selection takes instead.</summary>
    public Int128 Constant { get; init; }

    public Int128 LowLimit { get; init; }

    public Int128 HighLimit { get; init; }

    /// <summary>Values of a table, from the place 0 on in steps of 2^<see cref="Constant"/>.</summary>
    public ImmutableArray<Int128> Values { get; init; } = [];

    /// <summary>A table's product of a difference of values and a distance inside of its step.</summary>
    public Int128 InnerLow { get; init; }

    public Int128 InnerHigh { get; init; }

    public Word InnerWord { get; init; }

    /// <summary>Whether it cuts off towards zero instead of going to the nearest.</summary>
    public bool Truncates { get; init; }

    /// <summary>What it is, for the reader of the code.</summary>
    public string Remark { get; init; } = "";

    /// <summary>Whether every number it can have fits its word.</summary>
    public bool Fits => Word.Holds(Low, High) && (Operation != Operation.Table || InnerWord.Holds(InnerLow, InnerHigh));

    public int BitsNeeded => Operation == Operation.Table && !InnerWord.Holds(InnerLow, InnerHigh) ? Word.BitsFor(InnerLow, InnerHigh) : Word.BitsFor(Low, High);

    /// <summary>The least size that it can have.</summary>
    public Int128 LeastSize => Operation == Operation.HoldAway ? Int128.Max(LowLimit, Int128.Max(Low, -High)) : Int128.Max(0, Int128.Max(Low, -High));

    public bool CanBeZero => LeastSize <= 0;

    public double Least => (double)Low * Step;

    public double Greatest => (double)High * Step;

    internal double Size => Math.Max(Math.Abs(Least), Math.Abs(Greatest));
}
