namespace Throughline.Analysis;

/// <summary>What decides the output converter's voltage.</summary>
internal enum OutputHold
{
    /// <summary>The processor writes its codes.</summary>
    Written,

    /// <summary>It keeps the last code that was written.</summary>
    Kept,

    /// <summary>It is at reset, with code 0.</summary>
    Zero,

    /// <summary>It is at reset, with its middle code.</summary>
    Middle,

    /// <summary>It is at reset, with its output open.</summary>
    Open,

    /// <summary>It has no supply.</summary>
    Unpowered,
}
